import "./again.js";
import "./change.js";
import "./play.js";
