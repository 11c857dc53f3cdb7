// Keeps the page on the phone, so that it opens without a signal. SHELL and VERSION stand above this, put there by the
// server. Notes are no business of this script: they wait in IndexedDB, and the page sends them.

const CACHE = `shell ${VERSION}`;
const PATIENCE_MS = 2500; // a signal that is this slow is none, when somebody only wants the page

self.addEventListener("install", (event) => {
  event.waitUntil(keepShell().then(() => self.skipWaiting()));
});

async function keepShell() {
  const cache = await caches.open(CACHE);
  await Promise.all(
    SHELL.map(async (path) => {
      const answer = await fetch(path, { cache: "reload", credentials: "same-origin" });
      if (answer.ok && !answer.redirected) await cache.put(path, answer);
    }),
  );
}

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOld().then(() => self.clients.claim()));
});

async function dropOld() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("shell ") && name !== CACHE).map((name) => caches.delete(name)));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(opened(request, url.pathname));
  else if (SHELL.includes(url.pathname)) event.respondWith(kept(request, url.pathname));
});

/** A page: from the server, else the phone's own as it was kept, else one that says there is no signal. */
async function opened(request, path) {
  const asked = fetch(request);
  const late = SHELL.includes(path) ? new Promise((resolve) => setTimeout(resolve, PATIENCE_MS)) : asked;
  const answer = await Promise.race([asked, late]).catch(() => undefined);
  if (answer?.ok && path === "/" && !answer.redirected) (await caches.open(CACHE)).put(path, answer.clone());
  if (answer && (answer.status < 500 || !SHELL.includes(path))) return answer;
  return (await caches.match(path, { cacheName: CACHE })) ?? (await caches.match("/offline", { cacheName: CACHE })) ?? asked;
}

/** A part of the page: the kept one belongs to this version and needs no signal. */
async function kept(request, path) {
  return (await caches.match(path, { cacheName: CACHE })) ?? fetch(request);
}
