// Saying answers aloud with the phone's own voice.

const LONGEST_S = 60; // some browsers lose the end of an utterance: never wait for it for ever
const PER_CHARACTER_S = 0.12;

/** Says `words`; done when they have been said, were cut short, or cannot be said here. */
export class Voice {
  constructor() {
    this.on = true;
    this.synthesis = window.speechSynthesis;
  }

  /** To be called from a press: some phones speak only after one. */
  unlock() {
    if (!this.synthesis || !this.on) return;
    const silent = new SpeechSynthesisUtterance(" ");
    silent.volume = 0;
    this.synthesis.speak(silent);
  }

  async say(words) {
    if (!this.synthesis || !this.on || !words) return;
    this.hush();
    const utterance = new SpeechSynthesisUtterance(words);
    utterance.lang = "en-US";
    const said = new Promise((resolve) => {
      utterance.onend = utterance.onerror = resolve;
      this.cut = resolve;
      setTimeout(resolve, 1000 * Math.min(LONGEST_S, 3 + words.length * PER_CHARACTER_S));
    });
    this.synthesis.speak(utterance);
    await said;
  }

  /** Cuts it short. */
  hush() {
    this.synthesis?.cancel();
    this.cut?.();
  }
}
