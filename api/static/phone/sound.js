// Sound as the phone captures it: 16 kHz, mono, 16 bit. Pure functions.

export const RATE = 16000; // Hz

/** A WAV file of PCM16 pieces. */
export function wav(pieces) {
  const bytes = pieces.reduce((sum, piece) => sum + piece.byteLength, 0);
  const head = new DataView(new ArrayBuffer(44));
  const word = (at, letters) => [...letters].forEach((letter, i) => head.setUint8(at + i, letter.charCodeAt(0)));
  word(0, "RIFF");
  head.setUint32(4, 36 + bytes, true);
  word(8, "WAVEfmt ");
  head.setUint32(16, 16, true);
  head.setUint16(20, 1, true); // PCM
  head.setUint16(22, 1, true); // one channel
  head.setUint32(24, RATE, true);
  head.setUint32(28, RATE * 2, true);
  head.setUint16(32, 2, true);
  head.setUint16(34, 16, true);
  word(36, "data");
  head.setUint32(40, bytes, true);
  return new Blob([head, ...pieces], { type: "audio/wav" });
}

/** The samples from `first` to before `end` of PCM16 pieces, as one piece. */
export function cut(pieces, first, end = Infinity) {
  const all = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.byteLength, 0));
  let at = 0;
  for (const piece of pieces) {
    all.set(new Uint8Array(piece), at);
    at += piece.byteLength;
  }
  return all.slice(2 * Math.max(0, first), 2 * end).buffer;
}

/** Seconds of sound in PCM16 pieces. */
export function seconds(pieces) {
  return pieces.reduce((sum, piece) => sum + piece.byteLength, 0) / 2 / RATE;
}

/** How loud a piece is: root mean square, 0 to 1. */
export function loudness(samples) {
  let sum = 0;
  for (const sample of samples) sum += sample * sample;
  return Math.sqrt(sum / Math.max(1, samples.length)) / 32768;
}
