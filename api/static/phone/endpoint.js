// Noticing on the phone where speech begins and ends, for when there is no server to do it. Loudness against the
// quietest of the last seconds: beside a condenser the floor is high, and speech still stands out of it.

const ABOVE = 2; // times the floor: 6 dB
const LEAST = 0.004; // of full scale: below this nobody speaks into the phone
const WINDOW_S = 6; // the floor is the quietest of these

/** Fed the loudness of each tenth of a second, in order; tells what it means. */
export class Endpoint {
  constructor({ begins_s = 0.3, ends_s = 3, piece_s = 0.1 } = {}) {
    this.begins = Math.round(begins_s / piece_s);
    this.ends = Math.round(ends_s / piece_s);
    this.window = Math.round(WINDOW_S / piece_s);
    this.recent = [];
    this.loud = this.quiet = 0;
    this.speaking = false;
  }

  /** Whether somebody is heard at this very moment. */
  get isLoud() {
    return this.loud > 0;
  }

  /** The speech is over, whoever noticed it; what is quiet here is still known. */
  rest() {
    this.speaking = false;
    this.loud = this.quiet = 0;
  }

  /** "began", "ended", or "" where nothing changes. */
  take(loudness) {
    this.recent.push(loudness);
    if (this.recent.length > this.window) this.recent.shift();
    const floor = Math.min(...this.recent);
    const isLoud = loudness > Math.max(LEAST, floor * ABOVE);
    this.loud = isLoud ? this.loud + 1 : 0;
    this.quiet = isLoud ? 0 : this.quiet + 1;
    if (!this.speaking && this.loud >= this.begins) {
      this.speaking = true;
      return "began";
    }
    if (this.speaking && this.quiet >= this.ends) {
      this.speaking = false;
      return "ended";
    }
    return "";
  }
}
