// The little that is needed to build pages.

export const $ = (selector) => document.querySelector(selector);

/** A new element: make("li", { class: "note" }, "words", another). Text is never read as markup. */
export function make(tag, attributes = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value !== false && value !== undefined) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...inside.filter((each) => each !== null && each !== undefined));
  return element;
}

/** Shows words in a place that is hidden while there are none. */
export function show(element, words) {
  element.textContent = words || "";
  element.hidden = !words;
}

/** A time of day as this phone writes it, with the day where that is not today. */
export function clock(iso) {
  const at = new Date(iso);
  const time = at.toLocaleTimeString([], { hour: "numeric", minute: "2-digit" });
  return at.toDateString() === new Date().toDateString() ? time : `${at.toLocaleDateString([], { month: "short", day: "numeric" })}, ${time}`;
}
