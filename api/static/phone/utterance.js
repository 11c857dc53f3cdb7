// One note of a talk: which part of the microphone's sound it is, and how far it has come.

import { Recording, newNote } from "./recording.js";

export class Utterance {
  /** job: null for the one this phone is on; base: place of the note's first sample in the microphone's stream. */
  constructor(job, base) {
    Object.assign(this, newNote("audio", job));
    this.base = base; // the server counts the note's samples from here
    this.recording = null; // while its sound is on this phone's disk
    this.listened = false; // the server listens to it
    this.confirmed = false; // the server heard somebody speak
    this.over = false; // it ended before the server listened
  }

  /** From now on it is on the disk, with its sound from `place` on, or from the oldest that `stream` holds. */
  record(keeping, stream, place) {
    if (this.recording) return;
    const { client_id, kind, job, date, at, state } = this;
    this.from = Math.max(place, stream.first);
    const note = { client_id, kind, job, date, at, state, live: true, from: this.from - this.base };
    this.recording = new Recording(keeping, note, stream.from(this.from));
  }

  /** Where the server begins to listen anew, it counts from the oldest sound there still is. */
  rebase(stream) {
    if (this.base >= stream.first) return;
    this.base = stream.first;
    this.recording?.change({ from: this.from - this.base });
  }

  /** It holds the sound before `end` (a place in the stream). */
  endAt(end) {
    this.recording?.change({ samples: Math.max(0, end - this.from) });
  }

  /** It waits on this phone for the outbox. Gives back the note, or null where there was too little sound. */
  async leave() {
    const { recording } = this;
    this.recording = null;
    return recording ? recording.end() : null;
  }

  /** The server has it, or nobody had spoken. */
  async drop() {
    const { recording } = this;
    this.recording = null;
    await recording?.drop();
  }
}
