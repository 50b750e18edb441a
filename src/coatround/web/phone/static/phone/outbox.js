// The outbox: what was recorded is kept on this phone, on disk, until the server has acknowledged that very id.

const NAME = "coatround";
const SCHEMA = 2;
const BATCH_RECORDS = 50;
const BATCH_LETTERS = 500_000;
const REMEMBERED_MS = 3 * 24 * 3600 * 1000;
const CLOCK_OFF_SECONDS = 120;
// The server keeps nothing and says to wait: by no fault of the record.
const WAITS = new Set(["not-now", "said-by-another"]);

export const channel = "BroadcastChannel" in self ? new BroadcastChannel("coatround-outbox") : null;

let opened;

export function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, SCHEMA);
    asked.onupgradeneeded = (event) => upgrade(asked.result, asked.transaction, event.oldVersion);
    asked.onsuccess = () => {
      // A newer page in another tab wants to bring the store up to date: let it.
      asked.result.onversionchange = () => { asked.result.close(); opened = undefined; };
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  opened.catch(() => { opened = undefined; });
  return opened;
}

// Schema 1 held bare records and photos; schema 2 keeps each with who said it, in words, and how it stands.
function upgrade(base, transaction, from) {
  if (from < 1) for (const name of ["records", "photos"]) base.createObjectStore(name, { keyPath: "id" });
  for (const name of ["drafts", "sent", "facts"]) base.createObjectStore(name, { keyPath: "id" });
  if (from !== 1) return;
  for (const name of ["records", "photos"]) {
    const store = transaction.objectStore(name);
    store.openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (!cursor) return;
      const old = cursor.value;
      cursor.update(name === "records" ? entry(old, { at: Date.parse(old.said_at) }) : { ...old, state: "waiting", at: old.at ?? Date.now() });
      cursor.continue();
    };
  }
}

export function entry(record, more = {}) {
  return { id: record.id, record, by: record.by ?? "", at: Date.now(), words: record.kind, state: "waiting", code: "", why: "", ...more };
}

// UUID version 7 (RFC 9562): milliseconds first, so that ids sort as they were made.
export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(now / 2 ** (40 - 8 * i)) % 256;
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// One transaction over these stores; it is over only when the browser says that it is on disk.
async function write(stores, work) {
  const base = await database();
  return new Promise((resolve, reject) => {
    const transaction = base.transaction(stores, "readwrite", { durability: "strict" });
    transaction.oncomplete = () => resolve();
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
    work(...stores.map((name) => transaction.objectStore(name)));
  });
}

async function read(store, method, ...key) {
  const base = await database();
  return new Promise((resolve, reject) => {
    const asked = base.transaction(store).objectStore(store)[method](...key);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

const inOrder = (all) => all.sort((one, other) => one.at - other.at || (one.id < other.id ? -1 : 1));
export const records = async () => inOrder(await read("records", "getAll"));
export const photos = async () => inOrder(await read("photos", "getAll"));
export const sent = async () => inOrder(await read("sent", "getAll"));
export const fact = async (id) => (await read("facts", "get", id))?.value;
export const setFact = (id, value) => write(["facts"], (facts) => facts.put({ id, value }));
export const draft = (id) => read("drafts", "get", id);
export const keepDraft = (one) => write(["drafts"], (drafts) => drafts.put(one));
export const dropDraft = (id) => write(["drafts"], (drafts) => drafts.delete(id));

// Keeps records and photos of one tap together, or none of them; what they stand in place of goes with it.
export async function keep(entries, pictures = [], { instead = [], draftId } = {}) {
  await write(["records", "photos", "drafts"], (kept, shown, drafts) => {
    for (const id of instead) kept.delete(id);
    for (const one of entries) kept.put(one);
    for (const one of pictures) shown.put(one);
    if (draftId) drafts.delete(draftId);
  });
  changed();
}

// A refused one is thrown away only by a person who was told what it is.
export async function throwAway(id) {
  await write(["records", "photos"], (kept, shown) => { kept.delete(id); shown.delete(id); });
  changed();
}

export async function tryAgain(id) {
  for (const name of ["records", "photos"]) {
    const one = await read(name, "get", id);
    if (one) await write([name], (kept) => kept.put({ ...one, state: "waiting", code: "", why: "" }));
  }
  changed();
}

// The last thing this phone said of one kind about one visit and dog, sent or not.
export async function lastSaid(kind, visit, dog) {
  const all = [...(await sent()), ...(await records())].filter(({ record }) =>
    record && record.kind === kind && record.visit === visit && (!dog || record.body.dog === dog));
  return inOrder(all).at(-1);
}

export async function counts() {
  const all = [...(await records()), ...(await photos())];
  const waiting = all.filter((one) => one.state === "waiting");
  const today = Date.now() - 24 * 3600 * 1000;
  return {
    waiting: waiting.length,
    oldest: Math.min(...waiting.map((one) => one.at)),
    refused: all.filter((one) => one.state === "refused").length,
    sent: (await sent()).filter((one) => one.sentAt > today).length,
    matter: await fact("matter"),
    clockOff: await fact("clock-off"),
  };
}

function changed() {
  channel?.postMessage("changed");
  self.dispatchEvent(new Event("outbox"));
}

const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";

// What came back, told apart: only our own answer, whole, says that anything was kept.
async function ask(address, init) {
  let answer;
  try {
    answer = await fetch(address, { method: "POST", credentials: "same-origin", redirect: "manual", cache: "no-store", ...init, headers: { ...init.headers, "X-CSRFToken": token() }, signal: AbortSignal.timeout(60_000) });
  } catch {
    return { matter: { code: "no-signal" } };
  }
  let said;
  try {
    said = await answer.json();
  } catch {
    said = null;
  }
  if (answer.status === 200 && Array.isArray(said?.answers)) return { answers: said.answers, said };
  if (said?.error?.code && said.server_time) return { matter: { code: said.error.code, words: said.error.words }, status: answer.status };
  return { matter: { code: "in-between", status: answer.status }, status: answer.status };
}

async function settle(store, batch, answers, now) {
  const given = new Map(answers.filter((one) => one && typeof one.id === "string").map((one) => [one.id, one]));
  let settled = 0;
  let holds;
  await write([store, "sent"], (kept, journal) => {
    for (const one of batch) {
      const answer = given.get(one.id);
      if (!answer) continue;
      if (answer.status === "accepted" || answer.status === "already there") {
        const { form, blob, ...line } = one;
        kept.delete(one.id);
        journal.put({ ...line, state: "sent", sentAt: now });
        settled += 1;
      } else if (answer.status === "refused" && WAITS.has(answer.code)) {
        holds ??= { code: answer.code, words: answer.words };
      } else if (answer.status === "refused") {
        kept.put({ ...one, state: "refused", code: answer.code, why: answer.words });
        settled += 1;
      }
    }
  });
  return { settled, holds };
}

// A batch begins with the longest waiting; one that the server holds back does not hold up those behind it.
function batchOf(all, most, held) {
  const batch = [];
  let letters = 0;
  for (const one of all) {
    if (one.state !== "waiting" || held.has(one.id)) continue;
    letters += JSON.stringify(one.record).length;
    if (batch.length && (batch.length >= most || letters > BATCH_LETTERS)) break;
    batch.push(one);
  }
  return batch;
}

async function sendRecords(device) {
  let most = BATCH_RECORDS;
  const held = new Set();
  let waits = null;
  for (;;) {
    const batch = batchOf(await records(), most, held);
    if (!batch.length) return waits;
    const message = { records: batch.map((one) => one.record), device, sent_at: new Date().toISOString() };
    const { answers, said, matter, status } = await ask("/phone/records", { headers: { "Content-Type": "application/json" }, body: JSON.stringify(message) });
    if (status === 413 && batch.length > 1) { most = Math.ceil(batch.length / 2); continue; }
    if (matter) return matter;
    const off = said.clock_off_seconds;
    if (off !== null && Number.isFinite(off)) await setFact("clock-off", Math.abs(off) > CLOCK_OFF_SECONDS ? off : 0);
    const { settled, holds } = await settle("records", batch, answers, Date.now());
    if (holds) waits = holds;
    if (!settled && !holds) return { code: "in-between", status: 200 };
    const left = new Set((await records()).filter((one) => one.state === "waiting").map((one) => one.id));
    for (const one of batch) if (left.has(one.id)) held.add(one.id);
  }
}

async function sendPhotos() {
  for (const one of await photos()) {
    if (one.state !== "waiting") continue;
    const form = new FormData();
    form.append("photo", one.blob, "photo.jpg");
    for (const name of ["id", "by", "visit", "dog", "belongs_to", "words"]) if (one[name]) form.append(name, one[name]);
    const { answers, matter } = await ask("/phone/photos", { body: form });
    if (matter) return matter;
    const { settled, holds } = await settle("photos", [one], answers, Date.now());
    if (holds) return holds;
    if (!settled) return { code: "in-between", status: 200 };
  }
  return null;
}

// Sends all that waits, records before photos; one tab at a time. Gives what is the matter, or null when all is well.
export async function send() {
  if (!navigator.locks) return sendAll();
  return navigator.locks.request("coatround-outbox", { ifAvailable: true }, (lock) => (lock ? sendAll() : { code: "other-tab" }));
}

async function sendAll() {
  const device = (await fact("device")) ?? "";
  const matter = (await sendRecords(device)) ?? (await sendPhotos());
  await setFact("matter", matter ? { ...matter, at: Date.now() } : null);
  await forget();
  changed();
  return matter;
}

// Lines of what was sent are remembered for some days, to be shown; the records themselves are the server's now.
async function forget() {
  const old = (await sent()).filter((one) => one.sentAt < Date.now() - REMEMBERED_MS);
  if (old.length) await write(["sent"], (journal) => old.forEach((one) => journal.delete(one.id)));
}
