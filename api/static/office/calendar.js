// A link for a calendar program, made when it is asked for: it has a token of its own in it.

import { send } from "./send.js";

const button = document.getElementById("feed");
const box = document.getElementById("feed-link");
if (button) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const says = document.getElementById("feed-says");
    try {
      const made = await send("/api/v1/calendar");
      const field = box.querySelector("input");
      field.value = made.address;
      box.hidden = false;
      says.textContent = "Whoever has this link can read the tasks, and nothing else. Take it back under Devices.";
      field.select();
    } catch (err) {
      says.textContent = err.message;
    }
  });
}
