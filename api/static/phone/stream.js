// What the microphone gave, by its place in the whole of it: so that sound can be sent from any place again.

/** Pieces (Int16Array) in a row; places count samples since the microphone was opened. */
export class Stream {
  constructor() {
    this.pieces = [];
    this.first = 0; // place of the oldest sample still held
    this.end = 0; // place after the newest
  }

  push(piece) {
    this.pieces.push(piece);
    this.end += piece.length;
  }

  /** The pieces from `place` on; from the oldest held where it is older than that. */
  from(place) {
    let at = this.first;
    const found = [];
    for (const piece of this.pieces) {
      if (at + piece.length > place) found.push(at >= place ? piece : piece.slice(place - at));
      at += piece.length;
    }
    return found;
  }

  /** Lets go of whole pieces before `place`. */
  forget(place) {
    while (this.pieces.length && this.first + this.pieces[0].length <= place) this.first += this.pieces.shift().length;
  }
}
