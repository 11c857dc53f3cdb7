// Typing a note, taking a photo, choosing a job.

import { $, make, show } from "./dom.js";
import { newNote } from "./recording.js";

const LARGEST_PHOTO = 8_000_000; // bytes; a larger one is made smaller here
const LONGEST_SIDE = 3200; // px of one that was made smaller: a plate can still be read

/** Opens a dialog of a form; `kept(form)` runs when it is closed by any button but "leave". */
function dialog(name, opener, { opened = () => {}, kept }) {
  const box = $(`#${name}-dialog`);
  const form = $(`#${name}-form`);
  $(opener).addEventListener("click", () => {
    form.reset();
    opened(form);
    box.showModal();
  });
  form.addEventListener("submit", (event) => {
    if (event.submitter?.value !== "leave") kept(form, event);
  });
  return box;
}

export function typing({ outbox, known }) {
  dialog("type", "#type", {
    kept: () => {
      const text = $("#words").value.trim();
      if (text) outbox.add({ ...newNote("text", known.take()), text });
    },
  });
}

export function photos({ outbox, known, told }) {
  const image = $("#image");
  const preview = $("#preview");
  dialog("photo", "#photo", {
    opened: () => {
      preview.hidden = true;
      const { last } = told;
      $("#caption").required = !last;
      show($("#goes-with"), last ? `Left empty, it goes with the last note${last.said ? `: “${last.said.slice(0, 80)}”` : "."}` : "It becomes a note, and the photo goes with it.");
    },
    kept: async () => {
      const text = $("#caption").value.trim();
      const file = image.files[0];
      const at = new Date().toISOString();
      const photo = { image: await small(file).catch(() => file), state: "waiting", at };
      if (!text) return outbox.addPhoto({ ...photo, note: told.last.note });
      const note = { ...newNote("text", known.take()), text };
      await outbox.addPhoto({ ...photo, client_id: note.client_id }); // before its note, which takes it along
      await outbox.add(note);
    },
  });
  image.addEventListener("change", () => {
    URL.revokeObjectURL(preview.src);
    preview.hidden = !image.files.length;
    if (image.files.length) preview.src = URL.createObjectURL(image.files[0]);
  });
  preview.addEventListener("error", () => (preview.hidden = true)); // a kind this browser cannot show, and the server keeps
}

/** The photo as it is, or as a smaller JPEG where it is very large. Throws where this browser cannot read it. */
async function small(file) {
  if (file.size <= LARGEST_PHOTO) return file;
  const bitmap = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST_SIDE / Math.max(bitmap.width, bitmap.height));
  const canvas = new OffscreenCanvas(Math.round(bitmap.width * scale), Math.round(bitmap.height * scale));
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  return canvas.convertToBlob({ type: "image/jpeg", quality: 0.85 });
}

export function jobs({ known }) {
  const box = dialog("job", "#choose", {
    opened: async () => {
      const lines = await known.jobs();
      $("#jobs").replaceChildren(...lines.map((line) => jobLine(line, known, box)));
      if (!lines.length) $("#jobs").append(make("li", { class: "muted" }, "None yet."));
    },
    kept: (form, event) => {
      const name = $("#new-job").value.trim();
      if (name) known.open(name);
      else {
        event.preventDefault(); // there is nothing to begin
        $("#new-job").focus();
      }
    },
  });
}

function jobLine(line, known, box) {
  const open = () => {
    box.close();
    known.open(line.id);
  };
  const matters = [
    line.stop ? make("span", { class: "tag stop" }, "stop") : null,
    line.attention ? make("span", { class: "tag attention" }, `${line.attention} to look at`) : null,
  ];
  const words = [line.site && line.site !== line.id ? line.site : "", line.last ? `last there ${line.last}` : "no visit yet"];
  return make(
    "li",
    {},
    make(
      "button",
      { type: "button", class: "quiet wide", onclick: open, "aria-current": line.id === known.shown && "true" },
      make("strong", {}, line.id),
      make("span", { class: "small" }, words.filter(Boolean).join(", ")),
      ...matters,
    ),
  );
}
