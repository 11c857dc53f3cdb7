// Runs on the audio thread: the microphone's samples to 16 kHz PCM16, a tenth of a second at a time.

import { Resampler } from "./resample.js";

const RATE = 16000;
const PIECE = RATE / 10;

class Capture extends AudioWorkletProcessor {
  constructor() {
    super();
    this.resampler = new Resampler(sampleRate, RATE);
    this.piece = new Int16Array(PIECE);
    this.filled = 0;
  }

  process(inputs) {
    const channel = inputs[0][0];
    if (!channel) return true; // no source yet
    for (const sample of this.resampler.take(channel)) {
      this.piece[this.filled++] = Math.max(-32768, Math.min(32767, Math.round(sample * 32767)));
      if (this.filled === PIECE) {
        this.port.postMessage(this.piece.buffer, [this.piece.buffer]);
        this.piece = new Int16Array(PIECE);
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("capture", Capture);
