// What is known of the job: shown as the server last told it, kept for when there is no signal; and which job it is.

import { $, clock, make, show } from "./dom.js";
import { get } from "./server.js";

const WITHIN_S = 8;

/** Events: "changed" (another job is shown). */
export class Known extends EventTarget {
  constructor(keeping) {
    super();
    this.keeping = keeping;
    this.shown = null; // the job on the page; null before the first
    this.chosen = null; // chosen for the next note; after that the server knows where this phone is
  }

  /** The job for the next note, once; null: the one this phone is on. */
  take() {
    const job = this.chosen;
    this.#choose(null);
    return job;
  }

  /** The note that took it came to nothing. */
  giveBack(job) {
    if (job && !this.chosen) this.#choose(job);
  }

  #choose(job) {
    if (job === this.chosen) return;
    this.chosen = job;
    this.keeping.keep("chosen", job);
  }

  /** As it was when the page was last open. */
  async restore() {
    this.chosen = (await this.keeping.kept("chosen")) ?? null;
    const last = await this.keeping.kept("shown");
    if (last) await this.#showKept(last);
  }

  /** Goes to a job, or begins one: notes from here on belong to it. */
  async open(job) {
    this.#choose(job);
    this.#name(job);
    await this.refresh();
  }

  /** Asks the server how the job stands. */
  async refresh() {
    const asked = this.chosen;
    $("#known").setAttribute("aria-busy", "true");
    try {
      const path = asked ? `/phone/job?job=${encodeURIComponent(asked)}` : "/phone/job";
      const answer = await fetch(path, { signal: AbortSignal.timeout(WITHIN_S * 1000) });
      if (!answer.ok || answer.redirected) throw new Error(`the server answered ${answer.status}`);
      const piece = await answer.text();
      if (asked !== this.chosen) return;
      this.#show(piece);
      show($("#as-of"), "");
      await this.keeping.keep(`job ${this.shown}`, { piece, at: new Date().toISOString() });
      await this.keeping.keep("shown", this.shown);
    } catch {
      await this.#showKept(asked ?? this.shown);
    } finally {
      $("#known").removeAttribute("aria-busy");
    }
  }

  async #showKept(job) {
    const kept = job && (await this.keeping.kept(`job ${job}`));
    if (kept) this.#show(kept.piece);
    else this.#showNothing(job);
    show($("#as-of"), kept ? `As it stood at ${clock(kept.at)}.` : "");
  }

  #showNothing(job) {
    const words = `What is known of ${job ?? "the job"} shows when there is a signal.`;
    $("#known").replaceChildren(make("p", { class: "muted" }, words));
    this.#name(job ?? null);
  }

  /** `piece` is the server's own page, made from its own template, with everything that was said escaped in it. */
  #show(piece) {
    $("#known").innerHTML = piece;
    this.#name($("#known [data-job]")?.dataset.job || null);
  }

  #name(job) {
    $("#job").textContent = job || "none yet";
    if (job === this.shown) return;
    this.shown = job;
    this.dispatchEvent(new Event("changed"));
  }

  /** Every job in a line, the one told last first; as they were kept where there is no signal. */
  async jobs() {
    try {
      const jobs = await get("/jobs");
      await this.keeping.keep("jobs", jobs);
      return jobs;
    } catch {
      return (await this.keeping.kept("jobs")) ?? [];
    }
  }
}
