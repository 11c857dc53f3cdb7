// Notes and photos on their way to the server: in order, again and again until it says it has them, and only then
// let go. The server knows a note by the id made here, so that sending twice is sending once.

import { samplesKept } from "./line.js";
import { LEAST_S, newNote } from "./recording.js";
import { NoSignal, Refused, at, get, post } from "./server.js";
import { cut, seconds, wav } from "./sound.js";

const FIRST_WAIT_S = 1;
const LONGEST_WAIT_S = 60;
const HEARD_WITHIN_S = 120; // how long the next note waits for a spoken one to be understood

/**
 * Events: "changed" (what waits is different now), "taken" ({note as kept here, answer of the server}),
 * "answered" ({note, told: what the server knows of it}), "attached" (a photo), "refused" ({note or photo}), "signal" ({is: "yes" | "no" | "shut out"}).
 */
export class Outbox extends EventTarget {
  constructor(keeping) {
    super();
    this.keeping = keeping;
    this.wait_s = FIRST_WAIT_S;
    this.lastPlace = -1;
  }

  /** Begins to send; and again whenever the phone thinks it has a signal. */
  start() {
    window.addEventListener("online", () => this.nudge());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.nudge());
    this.nudge();
  }

  /** Try now. */
  nudge() {
    this.wait_s = FIRST_WAIT_S;
    return this.run();
  }

  /** Keeps a note that is whole, then sends it as soon as it can. Resolves when it is kept. */
  async add(note) {
    const kept = await this.keeping.addNote(note);
    this.#tell("changed");
    this.run();
    return kept;
  }

  async addPhoto(photo) {
    const kept = await this.keeping.addPhoto(photo);
    this.#tell("changed");
    this.run();
    return kept;
  }

  /** What has not been acknowledged: notes (those being spoken apart) and photos. */
  async waiting() {
    const [notes, photos] = await Promise.all([this.keeping.notes(), this.keeping.photos()]);
    return { notes: notes.filter((note) => note.state !== "recording"), photos };
  }

  /** Whether nothing is on its way any more that was said before; if something is, it is tried now. */
  async isClear() {
    const { notes } = await this.waiting();
    const clear = !this.followed && !notes.some((note) => note.state === "waiting");
    if (!clear && !this.running) this.nudge();
    return clear;
  }

  /** What the server refused is sent once more. */
  async again(thing) {
    const waiting = { ...thing, state: "waiting", reason: undefined };
    await (thing.kind ? this.keeping.changeNote(waiting) : this.keeping.changePhoto(waiting));
    this.#tell("changed");
    this.nudge();
  }

  /** Somebody said that it is not wanted. */
  async throwAway(thing) {
    await (thing.kind ? this.keeping.forgetNote(thing) : this.keeping.forgetPhoto(thing));
    this.#tell("changed");
  }

  #tell(type, detail) {
    this.dispatchEvent(new CustomEvent(type, { detail }));
  }

  /** Sends what waits, one at a time, by one page at a time; comes back by itself where that failed. */
  async run() {
    if (this.running) return void (this.more = true);
    clearTimeout(this.timer);
    this.running = true;
    let later = false;
    try {
      do {
        this.more = false;
        later = await exclusively("outbox", () => this.#sendAll());
      } while (this.more && !later);
    } finally {
      this.running = false;
    }
    if (!later) return;
    this.timer = setTimeout(() => this.run(), 1000 * Math.max(later, this.wait_s * (0.75 + Math.random() / 2)));
    this.wait_s = Math.min(LONGEST_WAIT_S, this.wait_s * 2);
  }

  /** Seconds to wait before another try; 0 when all is sent. */
  async #sendAll() {
    for (;;) {
      const { notes, photos } = await this.waiting();
      const note = notes.find((each) => each.state === "waiting");
      const photo = photos.find((each) => each.state === "waiting" && each.note);
      if (!note && !photo) return 0;
      try {
        await (note ? this.#sendNote(note, notes, photos) : this.#sendPhoto(photo));
        this.wait_s = FIRST_WAIT_S;
        this.#tell("signal", { is: "yes" });
      } catch (error) {
        if (!(error instanceof NoSignal || error instanceof Refused)) throw error;
        if (error instanceof NoSignal || error.passes || error.shutOut) {
          this.#tell("signal", { is: error instanceof NoSignal ? "no" : error.shutOut ? "shut out" : "yes", why: error.message });
          return error.wait_s || 1;
        }
        await this.#refuse(note, photo, notes, error);
      }
    }
  }

  async #sendNote(note, notes, photos) {
    const form = new FormData();
    form.set("client_id", note.client_id);
    form.set("date", note.date);
    if (note.job) form.set("job", note.job);
    let bytes = 1000;
    if (note.kind === "text") form.set("text", note.text);
    else {
      const sound = wav([cut(await this.keeping.sound(note.client_id), 0, note.samples)]);
      bytes += sound.size;
      form.set("audio", sound, "note.wav");
    }
    let answer;
    try {
      answer = await post("/notes", form, bytes);
    } catch (error) {
      if (error.status === 409 && note.live) return this.#reconcile(note);
      throw error;
    }
    if (typeof answer.note !== "string") throw new NoSignal("Something answered in the server's place.");
    for (const photo of photos.filter((each) => each.client_id === note.client_id)) {
      await this.keeping.changePhoto({ ...photo, note: answer.note });
    }
    await this.keeping.forgetNote(note);
    this.#tell("taken", { note, answer });
    this.#tell("changed");
    this.followed = (this.followed ?? 0) + 1;
    const told = this.follow(note, answer).finally(() => this.followed--);
    // "New job at …" decides where the next note belongs: a spoken one is understood before the next is sent.
    if (notes.some((each) => each.place > note.place && !each.job)) await Promise.race([told, after(HEARD_WITHIN_S)]);
  }

  /** The server has made a note of what came over the line before it broke: only what it lacks is another note. */
  async #reconcile(note) {
    const kept = await samplesKept(note);
    const pieces = await this.keeping.sound(note.client_id);
    const rest = cut(pieces, kept - (note.from ?? 0), note.samples);
    if (seconds([rest]) >= LEAST_S) {
      const more = { ...newNote("audio", note.job), date: note.date, at: note.at };
      const { place } = await this.keeping.addNote(more);
      await this.keeping.addSound(more.client_id, 0, rest);
      await this.keeping.changeNote({ ...more, place, state: "waiting" });
    }
    await this.keeping.forgetNote(note);
    this.#tell("changed");
  }

  async #sendPhoto(photo) {
    const form = new FormData();
    form.set("photo", photo.image, photo.image.name || "photo");
    await post(`/notes/${photo.note}/photos`, form, photo.image.size);
    await this.keeping.forgetPhoto(photo);
    this.#tell("attached");
    this.#tell("changed");
  }

  /** Kept, not lost, and out of the way of what comes after; a job it named goes on to the next note. */
  async #refuse(note, photo, notes, error) {
    const refused = { ...(note ?? photo), state: "refused", reason: error.message };
    if (!note) await this.keeping.changePhoto(refused);
    else {
      const next = notes.find((each) => each.state === "waiting" && each.place > note.place);
      if (next && note.job && !next.job) await this.keeping.changeNote({ ...next, job: note.job });
      await this.keeping.changeNote(refused);
    }
    this.#tell("refused", { thing: refused });
    this.#tell("changed");
  }

  /** Waits for the answer to a note the server has, and tells it. */
  async follow(note, taken) {
    try {
      if (taken.state === "waiting") await heard(taken.note);
      this.#tell("answered", { note, told: await get(`/notes/${taken.note}`) });
    } catch {
      // The note is safe; its answer is in the job whenever that is looked at next.
    }
  }
}

/** Done when the server has listened to the note, or could not. */
function heard(note) {
  return new Promise((resolve, reject) => {
    const progress = new EventSource(at(`/notes/${note}/progress`));
    const end = (done) => () => {
      progress.close();
      done();
    };
    progress.addEventListener("done", end(resolve));
    progress.addEventListener("failed", end(resolve));
    progress.onerror = () => progress.readyState === EventSource.CLOSED && end(() => reject(new NoSignal("No signal.")))();
    setTimeout(end(() => reject(new NoSignal("No answer yet."))), HEARD_WITHIN_S * 1000);
  });
}

/** Runs `work` where no other tab does the same; else asks to come back in a little while. */
function exclusively(name, work) {
  if (!navigator.locks) return work();
  return navigator.locks.request(name, { ifAvailable: true }, (lock) => (lock ? work() : 2));
}

function after(seconds) {
  return new Promise((resolve) => setTimeout(resolve, seconds * 1000));
}
