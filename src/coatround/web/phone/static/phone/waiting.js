// The page of this phone: what waits, what was refused and can be mended, what was sent, what is held, how full it is.

import * as box from "./outbox.js";
import { hold } from "./hold.js";
import { pinIsSet, setPin } from "./pin.js";
import { ago, matterWords, sendNow, span } from "./page.js";

const day = new Intl.DateTimeFormat(document.documentElement.lang, { weekday: "long", day: "numeric", month: "long", timeZone: "UTC" });
const at = (id) => document.getElementById(id);
const nothing = () => Object.assign(document.createElement("li"), { className: "soft", textContent: gettext("Nothing.") });

function line(one, more = []) {
  const item = document.createElement("li");
  const name = one.record ? one.words : one.words || gettext("photo");
  const words = document.createElement("p");
  words.append(Object.assign(document.createElement("strong"), { textContent: [one.household, one.record ? name : `${gettext("photo")} ${one.words ?? ""}`].filter(Boolean).join(", ") }), ` ${ago(one.sentAt ?? one.at)}`);
  item.append(words, ...more);
  item.dataset.id = one.id;
  return item;
}

function button(words, act, kind = "") {
  const made = Object.assign(document.createElement("button"), { type: "button", textContent: words, className: kind });
  made.addEventListener("click", act);
  return made;
}

function refusedLine(one) {
  const why = Object.assign(document.createElement("p"), { className: "error", textContent: one.why });
  const does = Object.assign(document.createElement("p"), { className: "does" });
  if (one.path && one.form) does.append(Object.assign(document.createElement("a"), { className: "tap", href: `${one.path}?mend=${one.id}`, textContent: gettext("Mend it") }));
  does.append(button(gettext("Send it again"), async () => { await box.tryAgain(one.id); sendNow(); }));
  does.append(button(gettext("Throw it away"), async () => {
    if (confirm(interpolate(gettext("Throw away “%(words)s” of %(household)s? It was not accepted and is nowhere else."), { words: one.words || gettext("photo"), household: one.household ?? "" }, true))) await box.throwAway(one.id);
  }, "grave"));
  return line(one, [why, does]);
}

async function show() {
  const all = [...(await box.records()), ...(await box.photos())];
  const fill = (id, items) => at(id).replaceChildren(...(items.length ? items : [nothing()]));
  fill("waiting-list", all.filter((one) => one.state === "waiting").map((one) => line(one)));
  fill("refused-list", all.filter((one) => one.state === "refused").map(refusedLine));
  fill("sent-list", (await box.sent()).reverse().slice(0, 60).map((one) => line(one)));
  const { matter, clockOff, waiting } = await box.counts();
  at("matter").textContent = waiting || matter?.code === "not-signed-in" ? matterWords(matter) : "";
  at("clock").textContent = clockOff
    ? interpolate(clockOff > 0 ? gettext("This phone’s clock is fast by %(off)s. Set it right; both times are kept.") : gettext("This phone’s clock is slow by %(off)s. Set it right; both times are kept."), { off: span(clockOff * 1000) }, true)
    : gettext("The clock is right, as far as the server could tell.");
  at("clock").className = clockOff ? "caution" : "soft";
  const held = await box.fact("held");
  if (held) at("held").textContent = `${held.runs.map((run) => `${day.format(new Date(run.date))}, ${run.van}`).join("; ")}. ${interpolate(gettext("%(pages)s pages, fetched %(ago)s."), { pages: held.pages, ago: ago(held.at || Date.now()) }, true)}`;
}

async function storage() {
  const words = [];
  const room = await navigator.storage?.estimate?.();
  if (room?.quota) {
    const share = room.usage / room.quota;
    words.push(interpolate(gettext("%(used)s MB of %(quota)s MB used."), { used: Math.ceil(room.usage / 1e6), quota: Math.floor(room.quota / 1e6) }, true));
    at("storage").classList.toggle("care", share > 0.8);
    if (share > 0.8) words.unshift(gettext("This phone is nearly full for Coatround: send what waits, and delete photos or films from the phone."));
  }
  if (navigator.storage?.persisted && !(await navigator.storage.persisted())) words.push(gettext("The browser did not promise to keep it when the phone is full; put the page on the home screen, and it will."));
  at("storage").textContent = words.join(" ");
  at("secure").textContent = self.isSecureContext
    ? ""
    : gettext("This address is not https, so the browser holds no pages without signal. What you record still waits here. Open Coatround by https, as docs/offline.md says.");
  at("secure").className = self.isSecureContext ? "" : "caution";
}

at("send").addEventListener("click", async () => { at("matter").textContent = gettext("Sending …"); await sendNow(); await show(); });
at("hold").addEventListener("click", async () => {
  const bar = at("holding");
  bar.hidden = false;
  bar.setAttribute("aria-label", gettext("Fetching pages"));
  const { worker, build } = document.documentElement.dataset;
  const held = await hold(worker, build, { anew: true, onProgress: (done, of) => { bar.max = of; bar.value = done; } }).catch(() => null);
  bar.hidden = true;
  if (!held) at("held").textContent = gettext("They could not be fetched now. Try again with signal.");
  else await show();
});
at("device").addEventListener("change", () => box.setFact("device", at("device").value.trim()));
at("pin-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const pin = at("new-pin").value.trim();
  const said = at("pin-said");
  if (pin && !/^[0-9]{4,12}$/.test(pin)) { said.textContent = gettext("A PIN has 4 to 12 digits. Leave it empty to ask for none."); said.className = "error"; return; }
  await setPin(pin, Number(at("pin-minutes").value));
  at("new-pin").value = "";
  await showPin();
});
async function showPin() {
  at("pin-said").className = "soft";
  at("pin-said").textContent = (await pinIsSet()) ? gettext("A PIN is asked after a pause.") : gettext("No PIN is asked.");
}
addEventListener("outbox", show);
box.channel?.addEventListener("message", show);
addEventListener("held", show);
at("device").value = (await box.fact("device").catch(() => "")) ?? "";
await Promise.allSettled([show(), storage(), showPin()]);
