// The phone page: puts the parts together. START HERE; then talk.js (talking) and outbox.js (nothing is lost).

import * as dialogs from "./dialogs.js";
import { $, make, show } from "./dom.js";
import { Keeping } from "./keeping.js";
import { Known } from "./known.js";
import { newNote, rescue } from "./recording.js";
import { Outbox } from "./outbox.js";
import { wordsFor } from "./states.js";
import { Talk } from "./talk.js";
import { Told, showWaiting } from "./told.js";
import { Voice } from "./voice.js";

const LATE_MS = 120_000; // an answer that comes later than this after its note is shown, not spoken
const HOLD_MS = 400; // a press shorter than this switches, a longer one holds

const trouble = (words) => show($("#trouble"), words);
const keeping = await new Keeping((error) => trouble(error.message)).open();
const voice = new Voice();
const outbox = new Outbox(keeping);
const known = new Known(keeping);
const told = new Told(keeping);
const talk = new Talk({ keeping, outbox, voice, chosen: known });

// ---------------------------------------------------------------- the big target, and the small one

async function begin(mode) {
  trouble("");
  voice.unlock();
  try {
    await talk.start(mode);
  } catch (error) {
    trouble(error.message);
  }
}

$("#start").addEventListener("click", () => {
  if (talk.state === "speaking") voice.hush();
  else if (talk.state === "hearing") talk.endNote();
  else if (talk.isOn) talk.stop();
  else begin("hands_free");
});

const hold = $("#hold");
let heldSince = 0;

function pressHold() {
  if (talk.isOn) return talk.stop(); // a second press, where the first was a short one
  heldSince = performance.now();
  begin("push_to_talk");
}

function releaseHold() {
  if (heldSince && performance.now() - heldSince > HOLD_MS) talk.stop();
  heldSince = 0;
}

const isPress = (event) => event.key === " " || event.key === "Enter";
hold.addEventListener("pointerdown", (event) => {
  if (event.button !== 0 || hold.disabled) return;
  hold.setPointerCapture(event.pointerId);
  pressHold();
});
hold.addEventListener("pointerup", releaseHold);
hold.addEventListener("pointercancel", releaseHold);
hold.addEventListener("contextmenu", (event) => event.preventDefault()); // a long press is no menu here
hold.addEventListener("keydown", (event) => {
  if (!isPress(event)) return;
  event.preventDefault();
  if (!event.repeat) pressHold();
});
hold.addEventListener("keyup", (event) => {
  if (!isPress(event)) return;
  event.preventDefault();
  releaseHold();
});
hold.addEventListener("click", (event) => {
  if (event.detail !== 0) return; // of a finger or a mouse, which were heard above
  pressHold(); // a screen reader presses without a finger: it switches
  heldSince = 0;
});
hold.addEventListener("blur", releaseHold);

talk.addEventListener("state", ({ detail: { state, local } }) => {
  const held = talk.isOn && talk.mode === "push_to_talk";
  const [words, hint] = wordsFor(state, local);
  $("#start").dataset.state = state;
  $("#state").textContent = words;
  $("#hint").textContent = held ? "Let go, or press again, when you are done." : hint;
  $("#level").hidden = !["listening", "hearing"].includes(state);
  hold.disabled = talk.isOn && !held;
  hold.setAttribute("aria-pressed", String(held));
  hold.textContent = held ? "Talking …" : "Hold to talk";
  if (state === "off" || state === "listening") show($("#heard"), "");
  keepAwake(talk.isOn);
});
talk.addEventListener("level", ({ detail }) => ($("#level").value = Math.min(1, detail * 6)));
talk.addEventListener("words", ({ detail }) => show($("#heard"), detail));
talk.addEventListener("trouble", ({ detail }) => trouble(detail));
talk.addEventListener("waits", () => changed());
talk.addEventListener("taken", ({ detail }) => told.add(detail));
talk.addEventListener("answer", ({ detail }) => answered(detail));

// ---------------------------------------------------------------- answers

function answered({ note, job, said, say }) {
  told.add({ note, job, said, say });
  show($("#heard"), "");
  $("#answer").replaceChildren(make("p", {}, say ?? ""), make("p", { class: "said-words" }, said ? `“${said}”` : ""));
  known.refresh();
}

outbox.addEventListener("taken", ({ detail: { note, answer } }) => {
  told.add({ note: answer.note, job: answer.job, said: note.text, at: note.at });
});
outbox.addEventListener("answered", ({ detail: { note, told: state } }) => {
  const say = state.state === "failed" ? `It could not be listened to: ${state.reason}` : state.say;
  answered({ note: state.note, job: state.job, said: state.said, say });
  if (note.kind === "audio" && Date.now() - Date.parse(note.at) < LATE_MS) talk.say(say);
});

// ---------------------------------------------------------------- what waits, and the signal

const LEAVES_MS = 1500; // a note that is gone sooner than this needs no word about it
let count = 0;
let signal = { is: navigator.onLine ? "yes" : "no" };
let saying;

async function changed() {
  count = await showWaiting({ outbox, keeping });
  $("#waiting-title").textContent = `${notes(count)} on this phone`;
  saySignal();
}

const notes = (number) => (number === 1 ? "1 note waits" : `${number} notes wait`);

/** How things stand, where somebody looks first. */
function saySignal() {
  clearTimeout(saying);
  const waits = count ? `${notes(count)} on this phone and will go by ${count === 1 ? "itself" : "themselves"}.` : "";
  const words = { yes: waits, no: `No signal. ${waits || "What you say is kept on this phone."}`, "shut out": `${signal.why} ${waits}` };
  saying = setTimeout(() => show($("#signal"), words[signal.is].trim()), signal.is === "yes" && count ? LEAVES_MS : 0);
  $("#shut-out").hidden = signal.is !== "shut out";
}

function hasSignal(now) {
  signal = now;
  saySignal();
  if (now.is === "yes") talk.connect();
}

outbox.addEventListener("changed", changed);
outbox.addEventListener("attached", () => known.refresh());
outbox.addEventListener("refused", () => trouble("The server did not take a note. It is kept on this phone: look below."));
outbox.addEventListener("signal", ({ detail }) => hasSignal(detail));
window.addEventListener("offline", () => hasSignal({ is: "no" }));
window.addEventListener("online", () => {
  hasSignal({ is: "yes" });
  known.refresh();
});
$("#send").addEventListener("click", () => outbox.nudge());
$("#undo").addEventListener("click", () => outbox.add({ ...newNote("text", known.take()), text: "undo" }));
$("#aloud").addEventListener("change", (event) => {
  voice.on = event.target.checked;
  if (!voice.on) voice.hush();
  keeping.keep("aloud", voice.on);
});

// ---------------------------------------------------------------- the phone itself

let wake;
async function keepAwake(on) {
  if (on && !wake) {
    wake = await navigator.wakeLock?.request("screen").catch(() => undefined); // refused where the battery is low
    wake?.addEventListener("release", () => (wake = undefined));
  } else if (!on) wake?.release();
}

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible" || !talk.isOn) return;
  talk.microphone.wake();
  keepAwake(true);
});

dialogs.typing({ outbox, known });
dialogs.photos({ outbox, known, told });
dialogs.jobs({ known });
voice.on = (await keeping.kept("aloud")) ?? true;
$("#aloud").checked = voice.on;
await rescue(keeping);
await told.restore();
await known.restore();
await changed();
outbox.start();
await known.refresh();
await navigator.serviceWorker?.register("/service-worker.js").catch(() => {}); // none over plain http: then no page offline
document.documentElement.dataset.ready = "yes";
