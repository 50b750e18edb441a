// Lays over a page what this phone recorded since the page was made: it stands there, in words, before the server has it.

import * as box from "./outbox.js";

const element = (tag, words, kind = "") => Object.assign(document.createElement(tag), { textContent: words, className: kind });

const stands = (line) => (line.state === "sent" ? gettext("sent") : line.state === "refused" ? gettext("refused: look at it") : gettext("waiting to be sent"));

// The last line of each kind and dog of each visit.
function lastOf(lines) {
  const last = new Map();
  for (const line of lines) if (line.record) last.set(`${line.record.visit} ${line.record.kind} ${line.record.body.dog ?? ""}`, line);
  return [...last.values()];
}

export async function laidOver(about, isNewer) {
  const lines = [...(await box.sent()), ...(await box.records())].filter((line) => line.record && isNewer(line));
  lines.sort((one, other) => one.at - other.at);
  if (about.visit) {
    const own = lastOf(lines.filter((line) => line.record.visit === about.visit));
    overVisit(own);
    overHandingBack(own, about);
    return own;
  }
  overRun(lastOf(lines));
  return lines;
}

function overVisit(own) {
  for (const line of own) {
    const { kind, body } = line.record;
    const step = document.querySelector(kind === "groom" ? `[data-step="groom-${body.dog}"]` : `[data-step="${kind}"]`);
    if (step) step.replaceChildren(element("strong", line.words), ` (${stands(line)})`);
    if (kind === "caution-seen") document.querySelector(`input[name="read-${body.dog}"]`)?.closest(".field")?.remove();
    const lost = (body.cotton?.swallowed ?? 0) + (body.cotton?.not_found ?? 0);
    if (kind === "groom" && lost) careFor(`${line.words}. ${gettext("Cotton swallowed or not found: ring the owner and a vet now.")}`);
    if (kind === "visit-change" && body.state === "CANCELLED") careFor(`${gettext("Called off")}: ${body.why} (${stands(line)})`);
    if (kind === "incident") careFor(`${line.words}: ${body.words} (${stands(line)})`);
  }
}

function careFor(words) {
  document.getElementById("form-said")?.before(element("p", words, "caution"));
}

function overHandingBack(own, about) {
  const found = document.getElementById("found-list");
  if (!found) return;
  for (const line of own.filter(({ record }) => record.kind === "groom")) {
    const { dog, state, why_not } = line.record.body;
    document.querySelector(`[data-without-groom="${dog}"]`)?.remove();
    found.querySelector(`[data-found="${dog}"]`)?.remove();
    const name = about.dogs.find((one) => one.id === dog)?.name ?? "";
    const said = element("p", "");
    said.append(element("strong", `${name}:`), ` ${state === "CANCELLED" ? `${gettext("not done.")} ${why_not}` : line.found?.length ? line.found.join("; ") : gettext("nothing to tell.")}`);
    found.querySelector(".none")?.remove();
    found.append(said);
  }
  const price = document.querySelector('input[name="price"]');
  const grooms = own.filter(({ record }) => record.kind === "groom");
  if (!grooms.length || !about.prices || price.value !== price.defaultValue) return;
  const done = new Set(about.dogs.filter((dog) => dog.state === "COMPLETED").map((dog) => dog.id));
  for (const { record } of grooms) done[record.body.state === "CANCELLED" ? "delete" : "add"](record.body.dog);
  const cents = [...done].reduce((sum, dog) => sum + (about.prices[dog] ?? 0), 0);
  if (cents) price.value = (cents / 10 ** about.decimals).toFixed(about.decimals);
}

function overRun(lines) {
  const over = new Map();
  for (const line of lines) {
    const { kind, visit, body } = line.record;
    const is_over = kind === "handing-back" || (kind === "visit-change" && body.state === "CANCELLED");
    if (is_over || !over.has(visit)) over.set(visit, { line, is_over });
  }
  for (const [visit, { line, is_over }] of over) {
    const stop = document.querySelector(`li[data-visit="${visit}"]`);
    if (!stop) continue;
    const said = is_over ? gettext("Recorded on this phone") : gettext("Begun on this phone");
    stop.querySelector(".time")?.after(element("span", `${said}, ${stands(line)}`, "soft here"));
    stop.classList.remove("next");
    if (!is_over) continue;
    stop.dataset.over = "yes";
    for (const part of [...stop.children]) if (!part.matches(".row")) part.remove();
  }
  const next = document.querySelector("li[data-visit]:not([data-over]):not([data-done])");
  const heading = document.querySelector("h1[data-next]");
  if (!heading || !over.get(heading.dataset.next)?.is_over) return;
  heading.nextElementSibling?.remove();
  if (next && next.dataset.visit !== heading.dataset.next) heading.textContent = next.dataset.heading;
  else if (!next) heading.textContent = gettext("All visits recorded on this phone");
}
