// The line to the server while somebody talks: /api/v1/listen. What is said over it is described in api/listen.py.

import { NoSignal, Refused, socketAt } from "./server.js";
import { RATE } from "./sound.js";

const OPENS_WITHIN_S = 5;
const STUCK_BYTES = 2 * RATE * 3; // three seconds of sound that does not leave the phone: no signal

/** One connection. `said(message)` is called for each message, `closed()` once. */
export class Line {
  constructor({ said, closed }) {
    this.socket = new WebSocket(socketAt("/listen"));
    this.socket.binaryType = "arraybuffer";
    const late = setTimeout(() => this.drop(), OPENS_WITHIN_S * 1000);
    this.opened = new Promise((resolve) => {
      this.socket.onopen = () => resolve(clearTimeout(late));
    });
    this.socket.onmessage = (event) => said(JSON.parse(event.data));
    this.over = () => {
      this.over = () => {};
      clearTimeout(late);
      closed();
    };
    this.socket.onclose = () => this.over();
  }

  get isOpen() {
    return this.socket.readyState === WebSocket.OPEN;
  }

  say(message) {
    if (this.isOpen) this.socket.send(JSON.stringify(message));
  }

  /** Sends a piece of sound; drops a line on which nothing moves. */
  sound(piece) {
    if (!this.isOpen) return;
    this.socket.send(piece);
    if (this.socket.bufferedAmount > STUCK_BYTES) this.drop();
  }

  /** Leaves it at once, without waiting for the other end, which may be out of reach. */
  drop() {
    this.socket.onmessage = null;
    this.socket.close();
    this.over();
  }
}

/** How many samples of the note with that id the server has kept. Throws NoSignal, Refused. */
export function samplesKept(note) {
  return new Promise((resolve, reject) => {
    const said = (message) => {
      if (message.kind === "kept") resolve(message.samples);
      if (message.kind === "problem") reject(new Refused(message.problem === "conflict" ? 409 : 503, message.detail));
      if (message.kind === "kept" || message.kind === "problem" || message.kind === "listening") line.drop();
    };
    const line = new Line({ said, closed: () => reject(new NoSignal("No signal to the server.")) });
    line.opened.then(() => line.say(startOf(note, "push_to_talk")));
  });
}

/** The message that begins a note, or goes on with it. */
export function startOf(note, mode) {
  const { client_id, job, date } = note;
  return { kind: "start", client_id, mode, rate: RATE, date, ...(job ? { job } : {}) };
}
