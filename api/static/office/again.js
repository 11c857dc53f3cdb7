// A recording that was given up is tried once more.

import { send } from "./send.js";

document.querySelectorAll("button.again").forEach((button) => {
  button.hidden = false;
  button.addEventListener("click", async () => {
    button.disabled = true;
    const says = button.parentElement.querySelector("[role=status]");
    try {
      await send(`/api/v1/notes/${button.dataset.note}/hear`);
      says.textContent = "It is being tried again.";
    } catch (err) {
      says.textContent = err.message;
      button.disabled = false;
    }
  });
});
