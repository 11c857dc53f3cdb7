// Pairing codes, and devices that are let in no more.

import { send } from "./send.js";

function tell(id, words) {
  const place = document.getElementById(id);
  place.textContent = words;
  place.hidden = !words;
}

const pair = document.getElementById("pair");
pair?.addEventListener("submit", async (event) => {
  event.preventDefault();
  tell("pair-problem", "");
  let made;
  try {
    made = await send("/api/v1/devices/codes", { role: pair.elements.role.value });
  } catch (err) {
    tell("pair-problem", err.message);
    return;
  }
  const box = document.getElementById("code");
  const ends = new Date(made.ends_at).toLocaleTimeString([], { hour: "numeric", minute: "2-digit" });
  box.querySelector("[data-code]").textContent = made.code;
  box.querySelector("[data-address]").textContent = made.address;
  box.querySelector("[data-until]").textContent = `until ${ends}`;
  const picture = box.querySelector("[data-picture]");
  if (picture.src) URL.revokeObjectURL(picture.src);
  picture.src = URL.createObjectURL(new Blob([made.qr_svg], { type: "image/svg+xml" }));
  picture.hidden = false;
  box.hidden = false;
  box.focus();
});

const asks = document.getElementById("revoke");
let device = null;
document.querySelectorAll("button.revoke").forEach((button) => {
  button.hidden = false;
  button.addEventListener("click", () => {
    device = button.dataset.device;
    asks.returnValue = "no";
    asks.querySelector("[data-name]").textContent = button.dataset.name;
    asks.showModal();
  });
});
asks?.addEventListener("close", async () => {
  if (asks.returnValue !== "yes") return;
  try {
    await send(`/api/v1/devices/${device}`, undefined, "DELETE");
    location.reload();
  } catch (err) {
    tell("revoke-problem", err.message);
  }
});
