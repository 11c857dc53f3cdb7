// Talking to the server: one place for the path, the header every write carries, time limits and what went wrong.

const V1 = "/api/v1";
const OWN = { "X-Superheard": "1" }; // no other site can send it: the server takes no write without
const SLOW_BYTES_PER_S = 4000; // the worst signal an upload is given time for

/** There was no (whole) answer: no signal, or no server. Worth trying again. */
export class NoSignal extends Error {}

/** The server answered no. `status` as in HTTP; `wait_s` where it said when to come back. */
export class Refused extends Error {
  constructor(status, words, wait_s) {
    super(words);
    this.status = status;
    this.wait_s = wait_s;
  }

  /** Whether the same note may well be taken later: too many at once, or the server's own trouble. */
  get passes() {
    return this.status === 408 || this.status === 429 || this.status >= 500;
  }

  /** Whether this phone is not (any longer) let in. */
  get shutOut() {
    return this.status === 401 || this.status === 403;
  }
}

/** GETs JSON. Throws NoSignal, Refused. */
export function get(path, limit_s = 10) {
  return ask(path, {}, limit_s);
}

/** POSTs an object as JSON, or a FormData as it is. Throws NoSignal, Refused. */
export function post(path, body, bytes = 0) {
  const form = body instanceof FormData;
  const headers = form ? OWN : { ...OWN, "Content-Type": "application/json" };
  return ask(path, { method: "POST", headers, body: form ? body : JSON.stringify(body) }, 20 + bytes / SLOW_BYTES_PER_S);
}

async function ask(path, options, limit_s) {
  let response, body;
  try {
    response = await fetch(V1 + path, { ...options, credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(limit_s * 1000) });
    body = await response.text();
  } catch (cause) {
    throw new NoSignal("No signal to the server.", { cause });
  }
  const answer = read(body);
  if (!response.ok) {
    const words = answer?.detail || answer?.title || `The server answered ${response.status}.`;
    throw new Refused(response.status, words, Number(response.headers.get("Retry-After")) || 0);
  }
  if (answer === undefined) throw new NoSignal("Something between here and the server answered in its place.");
  return answer;
}

function read(body) {
  try {
    return JSON.parse(body);
  } catch {
    return undefined;
  }
}

/** Whether the server can be reached at all; it may well answer no. */
export function isReached() {
  return get("/health", 3).then(() => true, (error) => error instanceof Refused);
}

/** Where a path of the server's is, for an image or an event stream. */
export function at(path) {
  return V1 + path;
}

/** The WebSocket's address on this server. */
export function socketAt(path) {
  return `${location.protocol === "https:" ? "wss" : "ws"}://${location.host}${V1}${path}`;
}
