// What a talk is doing, and the words for it.

/** off | opening | listening | hearing | thinking | speaking, of a talk's own facts. */
export function stateOf({ muted, opening, hears, awaits, isOn }) {
  if (muted) return "speaking";
  if (opening) return "opening";
  if (hears) return "hearing";
  if (awaits) return "thinking";
  return isOn ? "listening" : "off";
}

const SHOWN = {
  off: ["Start", "Press once, then talk with your hands free."],
  opening: ["One moment", "It asks for the microphone."],
  listening: ["Listening", "Talk when you like. Press to stop."],
  hearing: ["I hear you", "It answers when you pause. Press when you are done."],
  thinking: ["Working it out", "You can go on talking."],
  speaking: ["Answering", "Press to cut it short."],
};
const SHOWN_LOCALLY = {
  listening: ["Listening", "What you say is kept on this phone for now. Press to stop."],
  hearing: ["Recording", "It is kept on this phone for now. Press when you are done."],
};

/** A word for the big target and a sentence under it. local: the phone is on its own. */
export function wordsFor(state, local) {
  return (local && SHOWN_LOCALLY[state]) || SHOWN[state];
}
