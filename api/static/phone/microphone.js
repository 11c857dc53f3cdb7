// The microphone: asked for once, when somebody presses start.

/** The microphone cannot be had, in words that say what to do. */
export class NoMicrophone extends Error {}

const SAYS = {
  NotAllowedError: "The microphone is switched off for this page. Allow it in the browser's settings for this site, then press start again.",
  NotFoundError: "This device has no microphone. Typed notes work.",
  NotReadableError: "Another app holds the microphone. Close it and press start again.",
  AbortError: "The microphone stopped by itself. Press start again.",
};

/** Delivers sound as Int16Array pieces of a tenth of a second, 16 kHz mono, to `heard`; `lost` is called if it goes away. */
export class Microphone {
  constructor(heard, lost) {
    this.heard = heard;
    this.lost = lost;
  }

  /** Opens it. Throws NoMicrophone. */
  async open() {
    if (!window.isSecureContext || !navigator.mediaDevices?.getUserMedia || !window.AudioWorkletNode) {
      throw new NoMicrophone(
        window.isSecureContext
          ? "This browser cannot record. Typed notes work; a newer browser can do both."
          : "A browser gives the microphone only to a secure page. Open the https address that the office shows for this phone.",
      );
    }
    try {
      const audio = { channelCount: 1, echoCancellation: true, autoGainControl: true, noiseSuppression: false };
      this.stream = await navigator.mediaDevices.getUserMedia({ audio });
      this.context = new AudioContext();
      await this.context.audioWorklet.addModule("/static/phone/capture.js");
      await this.context.resume();
    } catch (cause) {
      this.close();
      throw new NoMicrophone(SAYS[cause.name] || `The microphone cannot be used: ${cause.message}`, { cause });
    }
    const node = new AudioWorkletNode(this.context, "capture", { numberOfOutputs: 0 });
    node.port.onmessage = (event) => this.heard(new Int16Array(event.data));
    this.context.createMediaStreamSource(this.stream).connect(node);
    this.stream.getAudioTracks()[0].onended = () => this.lost();
  }

  /** Wakes the audio thread, where a phone call or the lock screen put it to sleep. */
  wake() {
    if (this.context?.state !== "running") this.context?.resume();
  }

  /** A short tone, for somebody who does not look: high when it listens, low when a note was taken. */
  tone(pitch_hz) {
    if (this.context?.state !== "running") return;
    const tone = this.context.createOscillator();
    const level = this.context.createGain();
    const now = this.context.currentTime;
    tone.frequency.value = pitch_hz;
    level.gain.setValueAtTime(0.12, now);
    level.gain.exponentialRampToValueAtTime(0.001, now + 0.12);
    tone.connect(level).connect(this.context.destination);
    tone.start(now);
    tone.stop(now + 0.12);
  }

  close() {
    this.stream?.getTracks().forEach((track) => track.stop());
    this.context?.close();
    this.stream = this.context = undefined;
  }
}
