// Plays one moment of a recording: a link with a stretch (#t=4.0,6.3) becomes a button that plays just that stretch.

const box = document.getElementById("player");
const audio = box?.querySelector("audio");
const says = box?.querySelector(".player-said");
let pressed = null; // the button whose stretch is playing
let end = Infinity; // [s] of the recording where the stretch ends

export function stretchOf(href) {
  const url = new URL(href, location.href);
  const [start, stop] = (url.hash.match(/^#t=([\d.]+)(?:,([\d.]+))?$/) ?? []).slice(1).map(Number);
  url.hash = "";
  return { recording: url.href, start: start || 0, end: stop > 0 ? stop : Infinity };
}

function release() {
  pressed?.setAttribute("aria-pressed", "false");
  pressed = null;
}

function seekable() {
  if (audio.readyState >= HTMLMediaElement.HAVE_METADATA) return Promise.resolve();
  return new Promise((resolve, reject) => {
    audio.addEventListener("loadedmetadata", resolve, { once: true });
    audio.addEventListener("error", reject, { once: true });
  });
}

async function play(button, href) {
  const stretch = stretchOf(href);
  release();
  pressed = button;
  button.setAttribute("aria-pressed", "true");
  box.hidden = false;
  says.textContent = button.dataset.said ?? "";
  try {
    audio.pause();
    if (audio.src !== stretch.recording) audio.src = stretch.recording;
    await seekable();
    audio.currentTime = stretch.start;
    end = stretch.end;
    await audio.play();
    watch();
  } catch (problem) {
    if (problem?.name === "AbortError") return; // another stretch was asked for meanwhile
    says.textContent = "This recording cannot be played here.";
    release();
  }
}

// The element tells the time only a few times a second; a second of speech wants it finer.
function watch() {
  if (audio.paused) return;
  if (audio.currentTime >= end) audio.pause();
  else requestAnimationFrame(watch);
}

function asButton(link) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = link.className;
  button.append(...link.childNodes);
  button.setAttribute("aria-label", link.getAttribute("aria-label"));
  button.setAttribute("aria-pressed", "false");
  button.dataset.said = link.dataset.said ?? "";
  const href = link.href;
  button.addEventListener("click", () => {
    if (pressed === button && !audio.paused) audio.pause();
    else play(button, href);
  });
  link.replaceWith(button);
}

if (audio) {
  audio.addEventListener("pause", release);
  audio.addEventListener("ended", release);
  // Moved by hand: the rest of the recording may be listened to.
  audio.addEventListener("seeking", () => { if (audio.currentTime > end || !pressed) end = Infinity; });
  box.querySelector("[data-close]").addEventListener("click", () => { audio.pause(); box.hidden = true; });
  document.querySelectorAll("a.play").forEach(asButton);
}
