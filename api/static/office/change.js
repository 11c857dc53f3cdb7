// Correcting, confirming and discarding a value: one dialog for all of them, sent to the interface the page stands on.

import { send } from "./send.js";

const dialog = document.getElementById("change");
const form = dialog?.querySelector("form");
const problem = document.getElementById("c-problem");
let chosen = null; // the button of the value that is being changed

function open(button) {
  chosen = button;
  const value = button.dataset;
  dialog.querySelector("[data-heard]").textContent = `${value.name} ${value.shown}`;
  dialog.querySelector("[data-words]").textContent = value.said;
  form.elements.value.value = value.value;
  form.elements.unit.value = value.unit;
  form.querySelector("[value=confirm]").hidden = value.doubt === "unit_mismatch"; // it cannot be right as it is
  tell("");
  dialog.showModal();
  form.elements.value.select();
}

function tell(words) {
  problem.textContent = words;
  problem.hidden = !words;
}

async function change(action) {
  const { note, quantity, said, anchor } = chosen.dataset;
  const body = { note, quantity, said, action };
  if (action === "correct") {
    const typed = form.elements.value.value.trim().replace(/^[\u2212\u2013]/, "-");
    if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(typed)) {
      tell("The right value is a number, as 94 or 94.5.");
      form.elements.value.focus();
      return;
    }
    Object.assign(body, { value: Number(typed), unit: form.elements.unit.value.trim() || null });
  }
  try {
    await send(dialog.dataset.path, body);
  } catch (err) {
    tell(err.message);
    return;
  }
  // The whole log is worked out anew, so the whole page is.
  history.replaceState(null, "", `#${anchor.replace(/^d-/, "")}`);
  location.reload();
}

if (dialog) {
  document.querySelectorAll("button.change").forEach((button) => {
    button.hidden = false;
    button.addEventListener("click", () => open(button));
  });
  dialog.querySelector("[data-cancel]").addEventListener("click", () => dialog.close());
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    change(event.submitter?.value ?? "correct");
  });
}
