// Every page of ours: sends what waits, shows how the outbox stands, keeps recordings on the phone, holds the next runs.

import * as box from "./outbox.js";
import { forget, hold, holdAgain, keysHeld, letKeysGo } from "./hold.js";
import { FORMS, answerTo, instant } from "./said.js";
import { laidOver } from "./overlay.js";
import { askPin, watchPauses } from "./pin.js";

const ANSWER_MS = 1500;
const FIRST_WAIT_MS = 15_000;
const LONGEST_WAIT_MS = 300_000;
const HOLD_AGAIN_MS = 20_000;
const DRAFT_MS = 200;
const LONGEST_SIDE = 2048;
const OUR_FIELDS = new Set(["csrfmiddlewaretoken", "rid", "corrects", "photo", "photo_id", "started-guess", "did", "paid"]);

const root = document.documentElement;
const worker = root.dataset.worker ?? "";
const strip = document.getElementById("outbox");
const about = JSON.parse(document.getElementById("on-page")?.textContent ?? "null");

// So long, in the largest unit that says something.
export function span(ms) {
  const minutes = Math.round(Math.abs(ms) / 60_000);
  const hours = Math.round(minutes / 60);
  const [count, words] = minutes < 60 ? [minutes, ngettext("%(count)s minute", "%(count)s minutes", minutes)]
    : hours < 48 ? [hours, ngettext("%(count)s hour", "%(count)s hours", hours)]
    : [Math.round(hours / 24), gettext("%(count)s days")];
  return interpolate(words, { count }, true);
}

export function ago(ms, now = Date.now()) {
  return now - ms < 60_000 ? gettext("just now") : interpolate(gettext("%(span)s ago"), { span: span(now - ms) }, true);
}

export function matterWords(matter) {
  switch (matter?.code) {
    case undefined: return "";
    case "no-signal": return gettext("No signal, or the server can’t be reached. It is sent as soon as it can be.");
    case "not-signed-in": return gettext("You are signed out. Sign in again; what waits stays here until then.");
    case "other-tab": return gettext("Another tab is sending.");
    case "in-between": return matter.status >= 500
      ? interpolate(gettext("The server is in trouble (%(status)s). Nothing is lost; it is tried again."), matter, true)
      : gettext("Something between this phone and the server answered in its place, perhaps a network that wants you to sign in. Nothing is lost; it is tried again.");
    default: return matter.words ?? "";
  }
}

const flash = sessionStorage.getItem("said") ?? "";
sessionStorage.removeItem("said");

async function showStrip() {
  if (!strip) return;
  const { waiting, oldest, refused, sent, matter, clockOff } = await box.counts();
  const parts = [];
  if (waiting) parts.push(interpolate(gettext("%(count)s waiting, oldest %(ago)s"), { count: waiting, ago: ago(oldest) }, true));
  if (refused) parts.push(interpolate(ngettext("%(count)s refused: look at it", "%(count)s refused: look at them", refused), { count: refused }, true));
  if (clockOff) parts.push(gettext("this phone’s clock is wrong"));
  if (waiting && matter?.code === "not-signed-in") parts.push(gettext("sign in again"));
  if (!parts.length) parts.push(sent ? interpolate(gettext("%(count)s sent, nothing waits"), { count: sent }, true) : gettext("Nothing waits on this phone"));
  if (flash) parts.unshift(flash);
  strip.textContent = `${parts.join(". ")}.`;
  strip.dataset.waiting = waiting;
  strip.dataset.refused = refused;
  strip.classList.toggle("care", refused > 0 || Boolean(clockOff) || (waiting > 0 && matter?.code === "not-signed-in"));
}

// Sending: on open, when the signal is back, when the page is looked at, by the clock, by a button.
let wait = FIRST_WAIT_MS;
let timer;
let sending = null;

export function sendNow() {
  sending ??= box.send().finally(() => { sending = null; });
  return sending.then(async (matter) => {
    clearTimeout(timer);
    const { waiting } = await box.counts();
    wait = matter ? Math.min(LONGEST_WAIT_MS, wait * 2) : FIRST_WAIT_MS;
    if (waiting) timer = setTimeout(sendNow, wait);
    if (!matter) await holdAgain();
    return matter;
  });
}

// The signal is back, or the page is looked at: a sending that began before may still be failing, so once more after it.
function woken() {
  wait = FIRST_WAIT_MS;
  const before = sending;
  sendNow().then((matter) => { if (before && matter?.code === "no-signal") sendNow(); });
}

// Half-finished forms outlive the tab.
const form = document.querySelector("form[data-record]");
const draftId = form && `${location.pathname}#${form.dataset.record}`;
let dirty = false;
let draftTimer;

function typed(of) {
  return [...new FormData(of)].filter(([name, value]) => typeof value === "string" && !OUR_FIELDS.has(name) && !/^(rid|corrects|read-id|not-done-id|shown)-/.test(name));
}

function putBack(values) {
  const left = new Map();
  for (const [name, value] of values) left.set(name, [...(left.get(name) ?? []), value]);
  for (const field of form.elements) {
    if (!field.name || OUR_FIELDS.has(field.name) || field.type === "hidden" || field.type === "file") continue;
    const said = left.get(field.name) ?? [];
    if (field.type === "checkbox" || field.type === "radio") field.checked = said.includes(field.value);
    else if (said.length) field.value = said.shift();
  }
  for (const details of form.querySelectorAll("details")) {
    if ([...details.querySelectorAll("input[type=text],input:not([type]),textarea")].some((field) => field.value && field.value !== field.defaultValue)) details.open = true;
  }
  form.dispatchEvent(new Event("change", { bubbles: true }));
}

async function keepDraft() {
  const file = form.elements.photo?.files?.[0];
  await box.keepDraft({ id: draftId, values: typed(form), photo: file ?? null, at: Date.now(), worker }).catch(() => {});
}

function note(words, care = false) {
  const said = document.getElementById("form-said");
  if (!said) return;
  said.textContent = words;
  said.className = care ? "error" : "soft";
}

async function begin() {
  form.addEventListener("input", () => { dirty = true; clearTimeout(draftTimer); draftTimer = setTimeout(keepDraft, DRAFT_MS); });
  const mending = new URLSearchParams(location.search).get("mend");
  const begun = await box.draft(draftId);
  const last = mending ? (await box.records()).find((one) => one.id === mending) : await lastOfForm();
  if (begun && begun.worker === worker) {
    putBack(begun.values);
    if (begun.photo && form.elements.photo) {
      const carried = new DataTransfer();
      carried.items.add(begun.photo);
      form.elements.photo.files = carried.files;
    }
    note(interpolate(gettext("What you had begun here (%(ago)s) is back."), { ago: ago(begun.at) }, true));
    dirty = true;
  } else if (last) {
    if (last.form) putBack(last.form);
    note(last.state === "refused" ? `${gettext("Refused:")} ${last.why}` : last.state === "sent" ? gettext("Recorded on this phone and sent. Saving again corrects it.") : gettext("Recorded on this phone, waiting to be sent. Saving again corrects it."), last.state === "refused");
  }
  if (last) form.dataset.mends = last.state === "refused" ? last.id : "";
}

async function lastOfForm() {
  const kind = { fit: "fit", groom: "groom", "handing-back": "handing-back" }[form.dataset.record];
  if (!kind) return undefined;
  const last = await box.lastSaid(kind, about.visit, form.dataset.dog);
  return last && isNewer(last) ? last : undefined;
}

const isNewer = (line) => line.state !== "sent" || line.sentAt > about.made;
const sameBody = (one, other) => JSON.stringify(sorted(one)) === JSON.stringify(sorted(other));
const sorted = (value) => value && typeof value === "object" && !Array.isArray(value) ? Object.fromEntries(Object.keys(value).sort().map((key) => [key, sorted(value[key])])) : Array.isArray(value) ? value.map(sorted) : value;

// What each record corrects, and whether there is anything new to say.
async function asEntry(made, now) {
  const last = made.always ? undefined : await box.lastSaid(made.kind, about.visit, made.dog);
  const mine = last && isNewer(last) ? last : undefined;
  if (mine && (made.onlyNew || (mine.state !== "refused" && sameBody(mine.record.body, made.body)))) return null;
  const there = made.kind === "fit" && about.fits?.[made.dog];
  if (!mine && there && sameBody(there.body, { signs: made.body.signs, answer: made.body.answer }) && !(made.body.reason && made.body.reason !== there.reason)) return null;
  const named = made.kind === "caution-seen" || made.always ? "" : form.querySelector(`[name="corrects-${made.dog}"]`)?.value ?? (made.onlyNew ? "" : form.elements.corrects?.value) ?? "";
  const corrects = mine ? (mine.state === "refused" ? mine.record.corrects : mine.id) : named;
  const record = { id: box.uuid7(now), kind: made.kind, version: 2, by: worker, said_at: instant(now + about.shift, about.offset), visit: about.visit, body: made.body };
  if (corrects) record.corrects = corrects;
  return { made, instead: mine?.state === "refused" ? mine.id : "", entry: box.entry(record, { at: now, words: wordsFor(made), household: about.household, dog: made.dog ?? "", path: location.pathname, form: typed(form), found: foundWords(made) }) };
}

function wordsFor({ kind, dog, body }) {
  const name = about.dogs.find((one) => one.id === dog)?.name ?? "";
  const how = {
    fit: () => about.words.answers[body.answer],
    groom: () => about.words.states[body.state],
    "handing-back": () => about.words.paid[body.paid],
    incident: () => gettext("something happened"),
    "visit-change": () => gettext("called off"),
    "caution-seen": () => gettext("cautions read"),
  }[kind]();
  return name ? `${name}: ${how}` : how;
}

// The findings of a groom in the words of its form, for handing back before the server has them.
function foundWords({ kind, body }) {
  if (kind !== "groom") return undefined;
  return [...form.querySelectorAll("fieldset.part-row")].flatMap((row) => {
    const what = row.querySelector("select[data-part]");
    if (!what?.value) return [];
    const where = row.querySelector('select[name^="part-"]')?.selectedOptions[0]?.textContent || row.querySelector("legend").textContent;
    const grade = row.querySelector('.grades input:checked')?.nextElementSibling?.textContent ?? "";
    const words = row.querySelector('input[name^="found-"]').value;
    return [[where, what.selectedOptions[0].textContent, grade.replace(/^\d /, ""), words].filter(Boolean).join(", ")];
  });
}

async function smaller(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
    if (scale === 1 && file.size < 1_500_000) return file;
    const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    return (await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.86))) ?? file;
  } catch {
    return file; // the server says in words what is wrong with it
  }
}

async function photoOf(now, records) {
  const file = form.elements.photo?.files?.[0];
  if (!file) return [];
  const fact = records.find(({ entry }) => ["groom", "incident"].includes(entry.record.kind))?.entry;
  const words = form.elements.photo_words?.value.trim() ?? "";
  return [{ id: box.uuid7(now), by: worker, blob: await smaller(file), visit: about.visit, dog: form.dataset.dog ?? fact?.dog ?? "", belongs_to: fact?.id ?? "", words, household: about.household, at: now, state: "waiting" }];
}

function showErrors(errors) {
  for (const old of form.querySelectorAll(".said-wrong")) old.remove();
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  let first;
  for (const [name, words] of Object.entries(errors)) {
    const field = form.querySelector(`[name="${CSS.escape(name)}"]`);
    if (!field) continue;
    const said = Object.assign(document.createElement("p"), { className: "error said-wrong", id: `wrong-${name}`, textContent: words });
    said.setAttribute("role", "alert");
    for (let around = field.parentElement; around !== form; around = around.parentElement) if (around.tagName === "DETAILS") around.open = true;
    field.closest(".part-row")?.classList.add("has");
    (field.closest("label, .stepper") ?? field).after(said);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", said.id);
    first ??= field;
  }
  note(gettext("Something here can’t be saved yet. It is marked below; all the rest still stands."), true);
  (first ?? form).focus();
  first?.scrollIntoView({ block: "center" });
}

async function save(submitter) {
  const now = Date.now();
  const { errors, records } = FORMS[form.dataset.record](form, submitter, about, now + about.shift);
  if (Object.keys(errors).length) { showErrors(errors); return; }
  const made = (await Promise.all(records.map((one) => asEntry(one, now)))).filter(Boolean);
  const pictures = await photoOf(now, made);
  if (form.dataset.record === "photo" && !pictures.length) { note(gettext("No photo was chosen. Take one, then send it."), true); return; }
  const instead = [...made.map((one) => one.instead), form.dataset.mends].filter(Boolean);
  try {
    await box.keep(made.map((one) => one.entry), pictures, { instead, draftId });
  } catch (full) {
    note(full?.name === "QuotaExceededError"
      ? gettext("This phone is full: NOT saved. What you typed stands. Delete photos or films from the phone, then save again.")
      : gettext("This phone could not write it down: NOT saved. What you typed stands. Save again; if it stays so, write it on paper."), true);
    return;
  }
  dirty = false;
  clearTimeout(draftTimer);
  navigator.storage?.persist?.(); // asked where it matters: some browsers ask the person
  const ids = new Set(made.map((one) => one.entry.id));
  await Promise.race([sendNow(), new Promise((resolve) => setTimeout(resolve, ANSWER_MS))]);
  const refused = (await box.records()).find((one) => ids.has(one.id) && one.state === "refused");
  if (refused) {
    form.dataset.mends = refused.id;
    note(`${gettext("Not accepted:")} ${refused.why}`, true);
    return;
  }
  sessionStorage.setItem("said", made.length || pictures.length ? gettext("Saved") : "");
  location.assign(nextAddress(made));
}

// The next dog that is fit and not done, else handing back; the page's own next where it has one.
function nextAddress(made) {
  if (form.dataset.next) return form.dataset.next;
  const fits = new Map(about.dogs.map((dog) => [dog.id, about.fits?.[dog.id]?.body.answer ?? dog.fit]));
  const done = new Set(about.dogs.filter((dog) => dog.groom).map((dog) => dog.id));
  for (const { record } of [...about.local, ...made.map((one) => one.entry)]) {
    if (record.kind === "fit") fits.set(record.body.dog, record.body.answer);
    if (record.kind === "groom") done.add(record.body.dog);
  }
  const next = about.dogs.find((dog) => !done.has(dog.id) && !["not today", "vet"].includes(fits.get(dog.id)));
  return next ? next.address : about.handingBack;
}

function listen() {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    save(event.submitter).finally(() => { delete form.dataset.busy; });
  });
}

// At the door the answer follows each tick at once.
function doorAnswers() {
  for (const section of form.querySelectorAll("section[data-dog]")) {
    const dog = section.dataset.dog;
    section.addEventListener("change", () => {
      const signs = [...section.querySelectorAll(`[name="signs-${dog}"]:checked`)].map((tick) => tick.value);
      const rule = answerTo(signs, about.rules[dog]);
      const answer = section.querySelector(`[name="answer-${dog}"]`).value || rule.answer;
      const verdict = section.querySelector(".verdict");
      verdict.classList.toggle("careful", answer !== "go");
      verdict.querySelector("strong").textContent = about.words.answers[answer];
      section.querySelector(`[name="shown-${dog}"]`).value = rule.answer;
      const lines = rule.rules.length ? rule.rules.map(({ words, mark }) => `${words} (${mark})`) : [about.words.nothing];
      section.querySelector(".why-so").replaceChildren(...lines.map((line) => Object.assign(document.createElement("p"), { textContent: line })));
    });
  }
}

// Without signal a key or code is shown from the phone, on its day only; the look is written down and sent later.
async function showKeys(form) {
  const { keys, of, date } = form.dataset;
  const held = await keysHeld();
  const found = held?.date === date && date === instant(Date.now() + about.shift, about.offset).slice(0, 10) ? held.places[keys] : null;
  const said = Object.assign(document.createElement("div"), { className: "keys" });
  said.setAttribute("role", "status");
  const line = (words, kind = "") => said.append(Object.assign(document.createElement("p"), { textContent: words, className: kind }));
  if (!found) line(gettext("No signal, and no key or code of today is on this phone. Ring the household."), "error");
  else {
    const now = Date.now();
    const record = { id: box.uuid7(now), kind: "keys-seen", version: 2, by: worker, said_at: instant(now + about.shift, about.offset), visit: of, body: { place: keys } };
    await box.keep([box.entry(record, { at: now, words: gettext("key or code looked at") })]);
    for (const words of found) line(words, "key");
    line(gettext("Your look is written down."), "soft");
  }
  form.replaceWith(said);
}

// A newer Coatround is offered, never forced on a form that is being filled in.
function offer(registration) {
  const button = document.getElementById("newer");
  if (!button || !registration.waiting || !navigator.serviceWorker.controller) return;
  button.hidden = false;
  button.onclick = () => {
    if (dirty && form) { keepDraft().then(() => registration.waiting.postMessage("take over")); return; }
    registration.waiting.postMessage("take over");
  };
}

async function serve() {
  if (!("serviceWorker" in navigator)) return;
  const first = !navigator.serviceWorker.controller;
  let reloading = false;
  navigator.serviceWorker.addEventListener("controllerchange", () => { if (!first && !reloading) { reloading = true; location.reload(); } });
  const registration = await navigator.serviceWorker.register("/sw.js");
  offer(registration);
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", () => offer(registration)));
  await navigator.serviceWorker.ready;
  if (root.dataset.holds) await holdUntilDone();
}

// What could not be fetched is fetched again, as long as this page is open.
async function holdUntilDone() {
  const held = await hold(worker, root.dataset.build).catch(() => null);
  if (!held || held.failed) setTimeout(holdUntilDone, HOLD_AGAIN_MS);
}

document.addEventListener("htmx:sendError", ({ target }) => { if (target.matches("form[data-keys]")) showKeys(target); });
document.addEventListener("submit", (event) => { if (event.target.matches("[data-signs-out]")) forget(); });
addEventListener("outbox", showStrip);
box.channel?.addEventListener("message", showStrip);
addEventListener("online", woken);
document.addEventListener("visibilitychange", () => { if (!document.hidden) woken(); });
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });

// The held pages go first, so that they are gone even where the server can't be reached.
async function signOut() {
  await forget();
  document.querySelector("form[data-signs-out]")?.requestSubmit();
  document.body.replaceChildren(Object.assign(document.createElement("p"), { textContent: gettext("Signed out. What waits is kept, and is sent after signing in again.") }));
}

async function open() {
  try {
    await box.database();
  } catch {
    if (strip) strip.textContent = gettext("This browser keeps nothing (a private window, or storage is refused): record only with signal.");
    return;
  }
  await askPin(signOut);
  watchPauses(signOut);
  if (about) {
    await letKeysGo(instant(Date.now() + about.shift, about.offset).slice(0, 10));
    about.local = (await laidOver(about, isNewer)) ?? [];
    if (form) { listen(); if (form.dataset.record === "fit") doorAnswers(); await begin(); }
  }
  root.dataset.ready = "yes";
  await showStrip();
  sendNow();
  serve().catch(() => {});
}

if (worker) open();
