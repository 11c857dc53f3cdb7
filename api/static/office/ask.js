// The asking page by voice: a question is recorded, its words come back, and the page is asked with them.

const LONGEST_S = 20;
const form = document.getElementById("ask");
const speak = document.getElementById("speak");
const says = document.getElementById("speak-says");
const aloud = document.getElementById("aloud");
const SPOKEN = "asked aloud"; // kept over the page that the answer comes with

let recorder = null;

function show(words, listening) {
  says.textContent = words;
  speak.setAttribute("aria-pressed", String(listening));
  speak.textContent = listening ? "Done asking" : "Ask aloud";
}

async function record() {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: { channelCount: 1, echoCancellation: true } });
  } catch {
    show("The microphone is switched off for this page, or there is none.", false);
    return;
  }
  const pieces = [];
  recorder = new MediaRecorder(stream, { audioBitsPerSecond: 32000 });
  const limit = setTimeout(() => recorder.stop(), LONGEST_S * 1000);
  recorder.addEventListener("dataavailable", (event) => pieces.push(event.data));
  recorder.addEventListener("stop", () => {
    clearTimeout(limit);
    stream.getTracks().forEach((track) => track.stop());
    hear(new Blob(pieces, { type: recorder.mimeType }));
  }, { once: true });
  recorder.start();
  show("Listening. Press again when you have asked.", true);
}

async function hear(sound) {
  show("Hearing what you asked\u2026", false);
  speak.disabled = true;
  const body = new FormData();
  body.append("audio", sound, "question");
  try {
    const answer = await fetch("/api/v1/ask/words", { method: "POST", headers: { "x-superheard": "1" }, body });
    const got = await answer.json();
    if (!answer.ok) throw new Error(got.detail);
    if (!got.text) throw new Error("No words were heard. Ask again, nearer to the microphone.");
    form.elements.question.value = got.text;
    sessionStorage.setItem(SPOKEN, got.text);
    form.requestSubmit();
  } catch (err) {
    show(err instanceof TypeError ? "The server does not answer." : err.message, false);
  } finally {
    speak.disabled = false;
  }
}

function say() {
  speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(document.getElementById("say").dataset.aloud);
  words.lang = "en-US";
  speechSynthesis.speak(words);
}

if (speak && navigator.mediaDevices?.getUserMedia && window.MediaRecorder) {
  speak.hidden = false;
  speak.addEventListener("click", () => (recorder?.state === "recording" ? recorder.stop() : record()));
}
if (aloud && window.speechSynthesis) {
  aloud.hidden = false;
  aloud.addEventListener("click", say);
  // What was asked aloud is answered aloud.
  if (sessionStorage.getItem(SPOKEN) === form.elements.question.value) say();
  sessionStorage.removeItem(SPOKEN);
}
