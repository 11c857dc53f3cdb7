// One note while it is being spoken: its sound goes to the phone's store every second, whatever becomes of the signal.

import { cut, seconds } from "./sound.js";

const FLUSH_PIECES = 10; // of a tenth of a second
export const LEAST_S = 0.5; // shorter is a slip of the finger

/**
 * A new note as the store keeps it. `job` null: the one this phone is on. A note of a talk has besides: live: true,
 * from: the place of its first sample as the server counts, and samples: how many of those kept here belong to it.
 */
export function newNote(kind, job, client_id = crypto.randomUUID()) {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  const date = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`; // the day it was said, wherever it waits
  return { client_id, kind, job, date, at: now.toISOString(), state: kind === "audio" ? "recording" : "waiting" };
}

export class Recording {
  /** Begins to keep a note, with the sound from just before it was noticed. */
  constructor(keeping, note, before = []) {
    this.keeping = keeping;
    this.pieces = before.map((piece) => piece.buffer);
    this.written = 0;
    this.client_id = note.client_id;
    this.kept = keeping.addNote(note); // a promise: what follows waits for it
    navigator.locks?.request(lockOf(note), () => new Promise((release) => (this.release = release)));
  }

  /** A tenth of a second (Int16Array). */
  add(piece) {
    this.pieces.push(piece.buffer);
    if (this.pieces.length >= FLUSH_PIECES) this.#flush();
  }

  #flush() {
    const pieces = this.pieces;
    this.pieces = [];
    if (!pieces.length) return;
    const n = this.written++;
    this.kept = this.kept.then(async (note) => {
      await this.keeping.addSound(this.client_id, n, cut(pieces, 0));
      return note;
    });
  }

  /** Something about the note is different now. */
  change(what) {
    this.kept = this.kept.then(async (note) => {
      const changed = { ...note, ...what };
      await this.keeping.changeNote(changed);
      return changed;
    });
  }

  /** The note is whole and waits for the server. Gives it back, or null where nobody can have said anything. */
  async end() {
    this.#flush();
    const note = await this.kept;
    const whole = await settled(this.keeping, note);
    this.release?.();
    return whole;
  }

  /** The server has it, or there was nothing in it: let go. */
  async drop() {
    this.pieces = [];
    await this.keeping.forgetNote(await this.kept);
    this.release?.();
  }
}

/** Notes that were being spoken when the page went away (a reload, an empty battery) wait for the server from now on. */
export async function rescue(keeping) {
  const cut = (await keeping.notes()).filter((note) => note.state === "recording");
  for (const note of cut) {
    const work = () => settled(keeping, note);
    if (navigator.locks) await navigator.locks.request(lockOf(note), { ifAvailable: true }, (lock) => lock && work());
    else await work();
  }
}

async function settled(keeping, note) {
  if (seconds(await keeping.sound(note.client_id)) < LEAST_S) {
    await keeping.forgetNote(note);
    return null;
  }
  const whole = { ...note, state: "waiting" };
  await keeping.changeNote(whole);
  return whole;
}

function lockOf(note) {
  return `recording ${note.client_id}`; // held by the page that records it: another tab leaves it alone
}
