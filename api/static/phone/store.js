// What the phone keeps by itself, in IndexedDB: notes that wait for the server, their sound as it was captured,
// photos, and the last job that was looked at. A note is here before anything else is done with it.

const NAME = "superheard";
const VERSION = 1;
const STRICT = { durability: "strict" }; // on the disk, not in a buffer: a battery may die

/** The phone cannot keep anything (more), in words for the person holding it. */
export class StorageTrouble extends Error {
  constructor(cause) {
    super(
      cause?.name === "QuotaExceededError"
        ? "This phone has no room left. What you say now is not kept on it: free some space."
        : "This browser keeps nothing on the phone. A note is lost if the page closes before it is sent.",
    );
    this.cause = cause;
  }
}

/** Opens the phone's store. Throws StorageTrouble where there is none (private windows, some managed phones). */
export async function openStore() {
  try {
    const opening = indexedDB.open(NAME, VERSION);
    opening.onupgradeneeded = () => build(opening.result);
    const db = await answered(opening);
    db.onversionchange = () => db.close(); // a newer page in another tab must not be held up
    return new Store(db);
  } catch (cause) {
    throw new StorageTrouble(cause);
  }
}

function build(db) {
  db.createObjectStore("notes", { keyPath: "place", autoIncrement: true }).createIndex("client_id", "client_id", { unique: true });
  db.createObjectStore("sound", { keyPath: ["client_id", "n"] });
  db.createObjectStore("photos", { keyPath: "place", autoIncrement: true });
  db.createObjectStore("kept");
}

/**
 * Notes are {place, client_id, kind: "text"|"audio", text, job, date, at, state, reason, words}; `place` is their order.
 * state: "recording" while sound still comes in, "waiting" for the server, "refused" by it (with its reason).
 * Photos are {place, client_id or note: what they belong to, image: Blob, state, reason}.
 */
export class Store {
  constructor(db) {
    this.db = db;
  }

  /** Runs `work(stores…)` in one transaction; done when it is on the disk. */
  async #write(names, work) {
    try {
      const transaction = this.db.transaction(names, "readwrite", STRICT);
      const result = work(...names.map((name) => transaction.objectStore(name)));
      await committed(transaction);
      return result?.result;
    } catch (cause) {
      throw new StorageTrouble(cause);
    }
  }

  #read(name, work) {
    return answered(work(this.db.transaction(name).objectStore(name)));
  }

  /** Keeps a new note; gives it back with its place. */
  async addNote(note) {
    return { ...note, place: await this.#write(["notes"], (notes) => notes.add(note)) };
  }

  changeNote(note) {
    return this.#write(["notes"], (notes) => notes.put(note));
  }

  notes() {
    return this.#read("notes", (notes) => notes.getAll());
  }

  /** Lets go of a note and its sound: the server has it, or there was nothing in it. */
  forgetNote(note) {
    return this.#write(["notes", "sound"], (notes, sound) => {
      notes.delete(note.place);
      sound.delete(soundOf(note.client_id));
    });
  }

  /** Keeps the `n`th piece of a note's sound: 16 kHz mono PCM16, an ArrayBuffer. */
  addSound(client_id, n, pcm) {
    return this.#write(["sound"], (sound) => sound.put({ client_id, n, pcm }));
  }

  /** A note's sound in order: {client_id, n, pcm}. */
  sound(client_id) {
    return this.#read("sound", (sound) => sound.getAll(soundOf(client_id)));
  }

  async addPhoto(photo) {
    return { ...photo, place: await this.#write(["photos"], (photos) => photos.add(photo)) };
  }

  changePhoto(photo) {
    return this.#write(["photos"], (photos) => photos.put(photo));
  }

  photos() {
    return this.#read("photos", (photos) => photos.getAll());
  }

  forgetPhoto(photo) {
    return this.#write(["photos"], (photos) => photos.delete(photo.place));
  }

  /** Keeps anything small under a name, for when there is no signal. */
  keep(name, value) {
    return this.#write(["kept"], (kept) => kept.put(value, name));
  }

  kept(name) {
    return this.#read("kept", (kept) => kept.get(name));
  }
}

function soundOf(client_id) {
  return IDBKeyRange.bound([client_id, 0], [client_id, Infinity]);
}

function answered(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("another tab holds an older store open"));
  });
}

function committed(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error);
    transaction.onerror = () => reject(transaction.error);
  });
}
