// Lists of notes: those that wait on this phone, and those told lately with their answers.

import { $, clock, make } from "./dom.js";
import { cut, seconds, wav } from "./sound.js";

const LATELY = 12;

/** What waits, with what can be done about a note that the server refused. */
export async function showWaiting({ outbox, keeping }) {
  const { notes, photos } = await outbox.waiting();
  const things = [...notes, ...photos];
  const rows = await Promise.all(things.map((thing) => row(thing, { outbox, keeping })));
  $("#waiting").hidden = !things.length;
  $("#waiting-list").replaceChildren(...rows);
  return things.length;
}

async function row(thing, { outbox, keeping }) {
  const refused = thing.state === "refused";
  const what = thing.kind === "text" ? `“${thing.text}”` : thing.kind === "audio" ? await spoken(thing, keeping) : "A photo";
  const where = thing.job ? `, for ${thing.job}` : "";
  return make(
    "li",
    { class: refused ? "message stop" : "message" },
    make("span", {}, `${what}, ${clock(thing.at)}${where}`),
    refused ? make("p", {}, `The server did not take it: ${thing.reason}`) : null,
    refused ? choices(thing, { outbox, keeping }) : null,
  );
}

async function spoken(note, keeping) {
  const pieces = await keeping.sound(note.client_id);
  return `A recording of ${Math.max(1, Math.round(seconds(pieces)))} s`;
}

function choices(thing, { outbox, keeping }) {
  const press = (words, onclick) => make("button", { type: "button", class: "quiet", onclick }, words);
  return make(
    "div",
    { class: "row" },
    press("Try again", () => outbox.again(thing)),
    thing.kind === "audio" ? press("Save the sound", () => save(thing, keeping)) : null,
    press("Throw away", () => confirm("Throw it away? It is nowhere else.") && outbox.throwAway(thing)),
  );
}

async function save(note, keeping) {
  const url = URL.createObjectURL(wav([cut(await keeping.sound(note.client_id), 0, note.samples)]));
  make("a", { href: url, download: `note-${note.at.slice(0, 16).replace(":", "")}.wav` }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** The notes told lately, newest first; kept, so that they are there after a reload. */
export class Told {
  constructor(keeping) {
    this.keeping = keeping;
    this.notes = [];
  }

  async restore() {
    this.notes = (await this.keeping.kept("told")) ?? [];
    this.#show();
  }

  /** The last note this phone told, or null: {note, job, said, say, at}. */
  get last() {
    return this.notes[0] ?? null;
  }

  /** A note the server has, or its answer. */
  add({ note, job, said, say, at }) {
    if (!note) return;
    const known = this.notes.find((each) => each.note === note) ?? { note, at: at ?? new Date().toISOString() };
    Object.assign(known, job && { job }, said && { said }, say && { say });
    this.notes = [known, ...this.notes.filter((each) => each !== known)].sort((a, b) => b.at.localeCompare(a.at)).slice(0, LATELY);
    this.keeping.keep("told", this.notes);
    this.#show();
  }

  #show() {
    $("#told").hidden = !this.notes.length;
    $("#told-list").replaceChildren(
      ...this.notes.map((note) =>
        make(
          "li",
          {},
          make("p", { class: "said-words" }, note.said ? `“${note.said}”` : "Being listened to …"),
          note.say ? make("p", {}, note.say) : null,
          make("p", { class: "muted small" }, [note.job, clock(note.at)].filter(Boolean).join(", ")),
        ),
      ),
    );
  }
}
