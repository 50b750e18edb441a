// Holds the pages of the next runs on this phone, no more than those, and only for the one who is signed in.

import * as box from "./outbox.js";

const AT_ONCE = 3;
const FOR_ANYONE = "/phone/no-signal/";
const FRESH_MS = 2 * 3600_000;

const cacheName = () => `pages-${document.documentElement.dataset.build}`;

let signedOut = false;

// Signing out: what is held goes, and what is still under way on this page is not kept.
export function forget() {
  signedOut = true;
  return letGo();
}

async function letGo() {
  if (!("caches" in self)) return;
  for (const name of await caches.keys()) {
    if (!name.startsWith("pages-")) continue;
    const cache = await caches.open(name);
    for (const request of await cache.keys()) if (new URL(request.url).pathname !== FOR_ANYONE) await cache.delete(request);
  }
  await box.setFact("held", null);
}

// One page as the server shows it now; a page that leads elsewhere is not held.
async function fetched(cache, path) {
  const answer = await fetch(path, { credentials: "same-origin", cache: "no-store", redirect: "manual", headers: { "X-Held": "yes" } });
  if (!answer.ok || answer.type !== "basic" || signedOut) return false;
  await cache.put(path, answer);
  return true;
}

async function list() {
  const answer = await fetch("/phone/to-hold", { credentials: "same-origin", cache: "no-store", redirect: "manual" });
  if (answer.status === 401) { await letGo(); return null; }
  return answer.ok ? answer.json() : null;
}

// Today's keys and codes, kept apart and only for today; none of another day stays.
const KEYS = "/phone/keys-today";

export async function keysHeld() {
  if (!("caches" in self)) return null;
  return (await (await caches.open(cacheName())).match(KEYS))?.json() ?? null;
}

export async function letKeysGo(today) {
  const held = await keysHeld();
  if (held && held.date !== today) await (await caches.open(cacheName())).delete(KEYS);
}

async function holdKeys(cache) {
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
  const answer = await fetch(KEYS, { method: "POST", credentials: "same-origin", redirect: "manual", headers: { "X-CSRFToken": token } });
  if (answer.ok && answer.type === "basic" && !signedOut) await cache.put(KEYS, answer);
  else await cache.delete(KEYS);
}

// Fetches what is to be held, nearest run first; tells how far it is, and lets go of what is over.
export async function hold(worker, build, { anew = false, onProgress = () => {} } = {}) {
  if (!("caches" in self)) return null;
  const held = await box.fact("held");
  if (held && held.worker !== worker) await letGo();
  const isFresh = held && held.worker === worker && held.build === build && Date.now() - held.at < FRESH_MS && new Date(held.at).toDateString() === new Date().toDateString();
  if (isFresh && !anew) return held;
  return navigator.locks.request("coatround-hold", { ifAvailable: true }, async (lock) => {
    if (!lock) return held;
    let wanted;
    try { wanted = await list(); } catch { return held; }
    if (!wanted || wanted.worker !== worker) return null;
    const cache = await caches.open(cacheName());
    const left = [...wanted.pages];
    let done = 0;
    let failed = 0;
    const take = async () => {
      for (let path = left.shift(); path; path = left.shift()) {
        failed += (await fetched(cache, path).catch(() => false)) ? 0 : 1;
        onProgress((done += 1), wanted.pages.length);
      }
    };
    await Promise.all(Array.from({ length: AT_ONCE }, take));
    await holdKeys(cache).catch(() => {});
    const keep = new Set([...wanted.pages, KEYS]);
    for (const request of await cache.keys()) if (!keep.has(new URL(request.url).pathname)) await cache.delete(request);
    if (signedOut) return null;
    const now = { worker, build, at: Date.now(), runs: wanted.runs, pages: wanted.pages.length - failed, failed };
    await box.setFact("held", failed ? { ...now, at: 0 } : now);
    dispatchEvent(new Event("held"));
    return now;
  });
}

// After something was acknowledged, the held pages of that visit and its run are fetched anew.
export async function holdAgain() {
  if (!("caches" in self)) return;
  const held = await box.fact("held");
  const since = (await box.fact("held-again")) ?? 0;
  const visits = new Set((await box.sent()).filter((one) => one.sentAt > since && one.record?.visit).map((one) => one.record.visit));
  if (!held || !visits.size) return;
  await box.setFact("held-again", Date.now());
  const cache = await caches.open(cacheName());
  for (const request of await cache.keys()) {
    const path = new URL(request.url).pathname;
    const is_run = /^\/run\//.test(path);
    if (is_run || [...visits].some((visit) => path.includes(visit))) await fetched(cache, path).catch(() => false);
  }
}
