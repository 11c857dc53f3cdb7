// The phone's store, with the page's memory behind it: where the phone cannot keep a note, it is at least not lost
// while the page is open, and somebody is told.

import { openStore } from "./store.js";

const IN_MEMORY = 1e12; // places from here on are in memory alone

/** The same methods as Store; `trouble(error)` is called whenever something could only be kept in memory. */
export class Keeping {
  constructor(trouble) {
    this.trouble = trouble;
    this.loose = { notes: new Map(), photos: new Map(), sound: [], kept: new Map() };
    this.places = IN_MEMORY;
  }

  async open() {
    try {
      this.disk = await openStore();
      navigator.storage?.persist?.(); // asks the browser not to clear it when the phone runs short
    } catch (error) {
      this.trouble(error);
    }
    return this;
  }

  async #onDisk(work, otherwise) {
    if (!this.disk) return otherwise();
    try {
      return await work(this.disk);
    } catch (error) {
      this.trouble(error);
      return otherwise();
    }
  }

  #addLoose(shelf, thing) {
    const placed = { ...thing, place: ++this.places };
    shelf.set(placed.place, placed);
    return placed;
  }

  #change(shelf, thing, method) {
    if (thing.place < IN_MEMORY) return this.#onDisk((disk) => disk[method](thing), () => {});
    shelf.set(thing.place, thing);
  }

  addNote(note) {
    return this.#onDisk((disk) => disk.addNote(note), () => this.#addLoose(this.loose.notes, note));
  }

  async changeNote(note) {
    await this.#change(this.loose.notes, note, "changeNote");
  }

  async notes() {
    return [...((await this.disk?.notes()) ?? []), ...this.loose.notes.values()];
  }

  async forgetNote(note) {
    this.loose.notes.delete(note.place);
    this.loose.sound = this.loose.sound.filter((piece) => piece.client_id !== note.client_id);
    if (note.place < IN_MEMORY) await this.#onDisk((disk) => disk.forgetNote(note), () => {});
  }

  addSound(client_id, n, pcm) {
    return this.#onDisk((disk) => disk.addSound(client_id, n, pcm), () => this.loose.sound.push({ client_id, n, pcm }));
  }

  async sound(client_id) {
    const kept = (await this.disk?.sound(client_id)) ?? [];
    const loose = this.loose.sound.filter((piece) => piece.client_id === client_id);
    return [...kept, ...loose].sort((a, b) => a.n - b.n).map((piece) => piece.pcm);
  }

  addPhoto(photo) {
    return this.#onDisk((disk) => disk.addPhoto(photo), () => this.#addLoose(this.loose.photos, photo));
  }

  async changePhoto(photo) {
    await this.#change(this.loose.photos, photo, "changePhoto");
  }

  async photos() {
    return [...((await this.disk?.photos()) ?? []), ...this.loose.photos.values()];
  }

  async forgetPhoto(photo) {
    this.loose.photos.delete(photo.place);
    if (photo.place < IN_MEMORY) await this.#onDisk((disk) => disk.forgetPhoto(photo), () => {});
  }

  keep(name, value) {
    return this.#onDisk((disk) => disk.keep(name, value), () => this.loose.kept.set(name, value));
  }

  async kept(name) {
    return this.loose.kept.get(name) ?? (await this.disk?.kept(name));
  }
}
