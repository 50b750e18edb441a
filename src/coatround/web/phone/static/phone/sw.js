// Pages that are held are shown without signal; with signal the server has a short head start, so that what is new is seen.

const { build: BUILD, files: FILES, first: FIRST } = self.COATROUND;
const CODE = `code-${BUILD}`;
const PAGES = `pages-${BUILD}`;
const HEAD_START_MS = 100;
const AFTER_CHANGE_MS = 10_000;
const NO_SIGNAL = "/phone/no-signal/";

let changedAt = -Infinity; // when a form was last sent from a page: the page that follows it must show what changed

function patience(request) {
  if (!navigator.onLine) return 0;
  if (request.mode !== "navigate" || Date.now() - changedAt > AFTER_CHANGE_MS) return HEAD_START_MS;
  changedAt = -Infinity;
  return AFTER_CHANGE_MS;
}

async function fresh(cache, path) {
  const answer = await fetch(path, { credentials: "same-origin", cache: "no-store", redirect: "manual" });
  if (!answer.ok) throw new Error(`${path} answers ${answer.status}`);
  await cache.put(path, answer);
}

// A newer version takes its files and every page held by the older one before it may take over.
async function install() {
  await (await caches.open(CODE)).addAll(FILES);
  const pages = await caches.open(PAGES);
  for (const path of FIRST) await fresh(pages, path);
  for (const name of await caches.keys()) {
    if (!name.startsWith("pages-") || name === PAGES) continue;
    for (const request of await (await caches.open(name)).keys()) await fresh(pages, new URL(request.url).pathname).catch(() => {});
  }
}

async function activate() {
  for (const name of await caches.keys()) if (/^(code|pages)-/.test(name) && name !== CODE && name !== PAGES) await caches.delete(name);
  await self.clients.claim();
}

async function held(path) {
  return (await caches.open(PAGES)).match(path);
}

async function page(event) {
  const { pathname } = new URL(event.request.url);
  const kept = await held(pathname);
  const asked = fetch(event.request);
  if (kept) event.waitUntil(asked.then((answer) => keepNewer(pathname, answer.clone())).catch(() => {}));
  if (!kept) {
    try { return await asked; } catch (lost) {
      const words = event.request.mode === "navigate" && (await held(NO_SIGNAL));
      if (words) return words;
      throw lost;
    }
  }
  const late = new Promise((resolve) => setTimeout(resolve, patience(event.request), null));
  const answer = await Promise.race([asked.catch(() => null), late]);
  return answer && answer.status < 500 ? answer : kept;
}

// A page that was let go in the meantime, by signing out, is not taken up again.
async function keepNewer(path, answer) {
  if (!answer.ok || answer.type !== "basic" || answer.redirected || !(await held(path))) return;
  await (await caches.open(PAGES)).put(path, answer);
}

async function file(request) {
  return (await (await caches.open(CODE)).match(request)) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", (event) => { if (event.data === "take over") self.skipWaiting(); });
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method === "POST" && event.request.mode === "navigate") changedAt = Date.now();
  if (event.request.method !== "GET" || url.origin !== location.origin || event.request.headers.has("X-Held")) return;
  if (url.pathname.startsWith("/static/")) event.respondWith(file(event.request));
  else event.respondWith(page(event));
});
