// Lets this phone in with a code, typed or out of the picture's address (behind its #, so that no log keeps it).

import { NoSignal, post } from "./server.js";

const form = document.querySelector("#pair");
const outcome = document.querySelector("#outcome");

if (location.hash.length > 1) {
  form.elements.code.value = decodeURIComponent(location.hash.slice(1)).replace(/^code=/, "");
  history.replaceState(null, "", location.pathname); // the code is not left in the history
  form.elements.name.focus();
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = form.querySelector("button");
  button.disabled = true;
  outcome.className = "";
  outcome.textContent = "One moment …";
  try {
    await post("/pair", { code: form.elements.code.value.trim(), name: form.elements.name.value.trim() });
    location.replace("/");
  } catch (error) {
    outcome.className = "message stop";
    outcome.textContent = error instanceof NoSignal ? "No signal to the server. Is this phone on its network?" : error.message;
    button.disabled = false;
  }
});
