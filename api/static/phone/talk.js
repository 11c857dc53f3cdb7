// A talk: the microphone open, note after note, each heard by the server while it is spoken, and answered.
//
// What is said is on the phone's disk from the moment somebody is heard until the server has it. Without a signal the
// phone finds the ends of notes by itself and leaves them to the outbox; with one again, it goes on where it was.

import { Endpoint } from "./endpoint.js";
import { Line, startOf } from "./line.js";
import { Microphone } from "./microphone.js";
import { isReached } from "./server.js";
import { RATE, loudness } from "./sound.js";
import { stateOf } from "./states.js";
import { Stream } from "./stream.js";
import { Utterance } from "./utterance.js";

const HELD_S = 15; // of silence, in memory, for what is noticed late
const BEFORE_S = 1.3; // kept from before the phone itself noticed that somebody speaks
const LONGEST_S = 600; // of one note, as the server has it
const KEPT_WITHIN_S = 8;
const ANSWERED_WITHIN_S = 60;
const ECHO_MS = 300; // after an answer the room still sounds of it
const RETRY_S = [1, 2, 4, 8, 15];
const NO_MATTER = ["idle", "still_open", "elsewhere"]; // the line is opened again, and goes on
const LISTENS_HZ = 880;
const TOOK_HZ = 587;

/**
 * Events: "state" ({state: off | opening | listening | hearing | thinking | speaking, local}), "level" (0 to 1),
 * "words" (heard so far), "taken" and "answer" (as the server said them), "waits" (a note was left to the outbox),
 * "trouble" (words).
 */
export class Talk extends EventTarget {
  /** `chosen` is the job that was chosen for the next note: take() and giveBack(job). */
  constructor({ keeping, outbox, voice, chosen }) {
    super();
    Object.assign(this, { keeping, outbox, voice, chosen });
    this.microphone = new Microphone(
      (piece) => this.#piece(piece),
      () => this.stop().then(() => this.#tell("trouble", "The microphone went away. Press start to go on.")),
    );
    this.awaited = new Map(); // notes that are over, by id, until they are answered
    this.unsaid = []; // answers to be said when nobody speaks
    this.state = "off";
    this.note = null; // the one that is open
  }

  /** Opens the microphone and begins. mode: hands_free | push_to_talk. Throws NoMicrophone. */
  async start(mode) {
    Object.assign(this, { mode, opening: true, stream: new Stream(), endpoint: new Endpoint(), tries: 0 });
    this.#settle();
    try {
      await this.microphone.open();
      if (!this.opening) return this.microphone.close(); // let go before it was open
      this.note = new Utterance(this.chosen.take(), 0);
      if (mode === "push_to_talk") this.note.record(this.keeping, this.stream, 0);
      this.microphone.tone(LISTENS_HZ);
      this.connect();
    } finally {
      this.opening = false;
      this.#settle();
    }
  }

  get isOn() {
    return this.opening || this.note !== null;
  }

  /** The microphone closes; what has been said is still told and answered. */
  async stop() {
    const { note, line } = this;
    this.opening = false;
    clearTimeout(this.retry);
    this.microphone.close();
    this.note = this.line = null; // the line stays open by itself until the last answer
    if (!note?.recording) {
      this.chosen.giveBack(note?.job);
      line?.say({ kind: "stop" });
    } else if (line) {
      note.over = true;
      this.#await(note, line);
      if (note.listened) line.say({ kind: "stop" });
    } else await this.#leave(note);
    this.#settle();
  }

  /** The note that is being spoken is over; the talk goes on. */
  async endNote() {
    if (this.#isLive) this.line.say({ kind: "done" });
    else await this.#endHere();
  }

  /** Says words aloud, without hearing them, as soon as nobody speaks. */
  say(words) {
    if (words) this.unsaid.push(words);
    this.#settle();
  }

  /** Opens the line once what waits on the phone has gone before; comes back to it while the talk goes on. */
  async connect() {
    clearTimeout(this.retry);
    if (this.line || !this.note) return;
    const clear = await this.outbox.isClear();
    if (this.line || !this.note) return;
    if (!clear) return this.#later();
    const line = new Line({ said: (message) => this.#said(message, line), closed: () => this.#closed(line) });
    this.line = line;
    line.opened.then(() => this.#announce(line));
  }

  // ---------------------------------------------------------------- what the microphone gives

  get #isLive() {
    return Boolean(this.line?.isOpen && this.note?.listened);
  }

  /** Whether somebody is heard: where the server listens, its word counts, and the phone's own guess is only kept. */
  get #hears() {
    const { note, mode } = this;
    return Boolean(note?.recording && (note.confirmed || mode === "push_to_talk" || !this.#isLive));
  }

  #piece(samples) {
    const { note, stream } = this;
    if (!note || this.muted) return;
    stream.push(samples);
    this.#tell("level", loudness(samples));
    note.recording?.add(samples);
    if (this.#isLive) this.line.sound(samples);
    if (this.mode === "hands_free") this.#notice(this.endpoint.take(loudness(samples)));
    if (!note.recording) stream.forget(stream.end - HELD_S * RATE);
    else if (!this.#isLive && stream.end - note.from >= LONGEST_S * RATE) this.#endHere();
  }

  /** What the phone itself makes of the sound. The server's word counts for more, while there is one. */
  #notice(what) {
    const { note } = this;
    if (what === "began" && !note.recording) {
      note.record(this.keeping, this.stream, this.stream.end - BEFORE_S * RATE);
      this.#settle();
    }
    if (what !== "ended" || !note.recording) return;
    if (this.#isLive) this.#doubt(note, this.line);
    else this.#endHere();
  }

  /** The phone heard an end, and the server did not: the signal went, or there was only noise, or it is still thinking. */
  async #doubt(note, line) {
    const reached = await isReached();
    if (!reached) line.drop();
    if (note !== this.note || this.endpoint.speaking) return;
    if (!this.#isLive) await this.#endHere();
    else if (!note.confirmed) await note.drop();
    this.#settle();
  }

  /** The note ends by the phone's own judgement and waits; the next begins. */
  async #endHere() {
    const { note } = this;
    this.note = new Utterance(note.recording ? this.chosen.take() : note.job, this.stream.end);
    this.endpoint.rest();
    const whole = await this.#leave(note);
    if (whole) this.microphone.tone(TOOK_HZ);
    if (whole && this.mode === "hands_free") this.say("Kept on this phone.");
    this.connect();
  }

  async #leave(note) {
    this.awaited.delete(note.client_id);
    const whole = await note.leave();
    if (whole) this.#tell("waits");
    else this.chosen.giveBack(note.job);
    this.outbox.nudge();
    this.#settle();
    return whole;
  }

  // ---------------------------------------------------------------- the line

  /** Begins the open note on the line, or the one that was over before there was a line for it. */
  #announce(line) {
    const leaving = () => [...this.awaited.values()].find((note) => note.line === line && !note.listened);
    const note = this.line === line ? this.note : leaving();
    if (note) line.say(startOf(note, this.mode));
  }

  /** The note is over. A line on which nothing comes back is left: the outbox finds out what the server has. */
  #await(note, line) {
    note.line = line;
    this.awaited.set(note.client_id, note);
    setTimeout(() => note.recording && line.drop(), KEPT_WITHIN_S * 1000);
    setTimeout(() => this.awaited.has(note.client_id) && line.drop(), ANSWERED_WITHIN_S * 1000);
  }

  #later() {
    const wait_s = RETRY_S[Math.min(this.tries++, RETRY_S.length - 1)];
    clearTimeout(this.retry);
    this.retry = setTimeout(() => this.connect(), wait_s * 1000);
    this.#settle();
  }

  #closed(line) {
    for (const note of [...this.awaited.values()].filter((each) => each.line === line)) {
      this.awaited.delete(note.client_id);
      if (note.recording) this.#leave(note);
      else if (note.kept) this.outbox.follow(note, { note: note.kept, state: "waiting" });
    }
    if (this.line === line) this.line = null;
    if (this.note && !this.line) {
      this.note.listened = false;
      this.#later();
    }
    this.#settle();
  }

  #said(message, line) {
    const note = message.client_id === this.note?.client_id ? this.note : this.awaited.get(message.client_id);
    if (!note && message.kind !== "problem") return;
    const does = {
      listening: () => this.#goOn(note, message.received, line),
      speech_began: () => this.#speechBegan(note, message.at),
      heard_so_far: () => this.#tell("words", message.text),
      speech_ended: () => this.#speechEnded(note, message, line),
      kept: () => this.#kept(note, message),
      answer: () => this.#answered(note, message),
      problem: () => this.#problem(note, message),
    };
    does[message.kind]?.();
    this.#settle();
  }

  /** The server listens: it is sent what it does not have. */
  #goOn(note, received, line) {
    if (received === 0) note.rebase(this.stream);
    note.listened = true;
    this.tries = 0;
    for (const piece of this.stream.from(note.base + received)) line.sound(piece);
    if (note.over) line.say({ kind: "stop" });
  }

  #speechBegan(note, at) {
    note.confirmed = true;
    note.record(this.keeping, this.stream, note.base + at);
    this.#tell("words", "");
  }

  #speechEnded(note, { samples, why }, line) {
    const end = note.base + samples;
    if (why === "nothing") {
      note.drop();
      this.awaited.delete(note.client_id);
    } else {
      note.endAt(end);
      this.#await(note, line);
      this.microphone.tone(TOOK_HZ);
    }
    if (note !== this.note) return why === "nothing" && this.chosen.giveBack(note.job);
    const goesOn = this.endpoint.isLoud && this.stream.end > end;
    this.endpoint.rest();
    this.note = new Utterance(why === "nothing" ? note.job : this.chosen.take(), end);
    if (goesOn) this.note.record(this.keeping, this.stream, end);
    this.#announce(line);
  }

  #kept(note, message) {
    note.kept = message.note;
    note.drop();
    this.#tell("taken", message);
  }

  #answered(note, message) {
    this.awaited.delete(note.client_id);
    this.#tell("answer", message);
    this.say(message.aloud);
  }

  #problem(note, { problem, detail }) {
    if (NO_MATTER.includes(problem)) return;
    if (problem !== "not_heard") this.#tell("trouble", detail);
    if (!note) return;
    if (problem === "not_heard") {
      this.awaited.delete(note.client_id);
      this.#tell("answer", { note: note.kept, say: "Kept. It will be listened to later." });
    } else if (note === this.note) this.#endHere();
    else this.#leave(note);
  }

  // ---------------------------------------------------------------- answering, and what is shown

  async #sayNow() {
    if (this.note?.recording) this.note.drop(); // a guess that the server did not share
    this.muted = true; // it does not hear itself
    this.line?.say({ kind: "speaking" });
    this.#show();
    await this.voice.say(this.unsaid.splice(0).join(" "));
    if (this.note) await new Promise((resolve) => setTimeout(resolve, ECHO_MS));
    this.muted = false;
    this.line?.say({ kind: "spoken" });
    this.endpoint?.rest();
    if (this.note) this.microphone.tone(LISTENS_HZ);
    this.#settle();
  }

  #settle() {
    if (!this.muted && this.unsaid.length && !this.#hears) this.#sayNow();
    else this.#show();
  }

  #show() {
    const { muted, opening, awaited, note } = this;
    const state = stateOf({ muted, opening, hears: this.#hears, awaits: awaited.size > 0, isOn: note !== null });
    const local = note !== null && !this.#isLive && this.tries > 0; // at first it is only not there yet
    if (state === this.state && local === this.local) return;
    Object.assign(this, { state, local });
    this.#tell("state", { state, local });
  }

  #tell(type, detail) {
    this.dispatchEvent(new CustomEvent(type, { detail }));
  }
}
