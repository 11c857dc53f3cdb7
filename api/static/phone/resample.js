// From the rate a microphone runs at (44.1 or 48 kHz, as the phone likes) to 16 kHz, a piece at a time.

const ZEROS = 16; // zero crossings of the sinc on each side
const PHASES = 256; // places between two samples that the filter is worked out for
const PASS = 0.46; // of the output rate: what is above would fold back as false sound

/** Resamples a stream. A windowed sinc (Blackman), so that a compressor's whine above 8 kHz does not fold into the voice. */
export class Resampler {
  constructor(from, to) {
    this.step = from / to;
    const cut = (PASS * Math.min(from, to)) / from; // cycles per input sample
    this.reach = Math.ceil(ZEROS / (2 * cut));
    this.filters = Array.from({ length: PHASES + 1 }, (_, phase) => filter(cut, this.reach, phase / PHASES));
    this.held = new Float32Array(2 * this.reach); // input still needed, silence at first
    this.next = this.reach; // where in `held` the next output lies
  }

  /** The output that `input` (Float32Array) completes. */
  take(input) {
    const all = new Float32Array(this.held.length + input.length);
    all.set(this.held);
    all.set(input, this.held.length);
    const out = [];
    for (; this.next + this.reach < all.length; this.next += this.step) {
      const first = Math.floor(this.next);
      const taps = this.filters[Math.round((this.next - first) * PHASES)];
      let sum = 0;
      for (let i = 0; i < taps.length; i++) sum += taps[i] * all[first - this.reach + 1 + i];
      out.push(sum);
    }
    const spent = Math.max(0, Math.min(Math.floor(this.next) - this.reach, all.length));
    this.held = all.slice(spent);
    this.next -= spent;
    return Float32Array.from(out);
  }
}

function filter(cut, reach, offset) {
  const taps = Float64Array.from({ length: 2 * reach }, (_, i) => {
    const t = i - reach + 1 - offset;
    const w = (t / reach + 1) / 2; // 0 to 1 over the window
    const window = w <= 0 || w >= 1 ? 0 : 0.42 - 0.5 * Math.cos(2 * Math.PI * w) + 0.08 * Math.cos(4 * Math.PI * w);
    return window * (t === 0 ? 1 : Math.sin(2 * Math.PI * cut * t) / (2 * Math.PI * cut * t));
  });
  const sum = taps.reduce((a, b) => a + b, 0); // so that a steady pressure stays what it is
  return taps.map((tap) => tap / sum);
}
