// A PIN after a pause, if wanted: it keeps a found phone from being read in passing. It does not encrypt what is held.

import * as box from "./outbox.js";

const ROUNDS = 200_000;
const MOST_WRONG = 5;
const NOTED_MS = 5_000;
let noted = 0;

async function digest(pin, salt) {
  const key = await crypto.subtle.importKey("raw", new TextEncoder().encode(pin), "PBKDF2", false, ["deriveBits"]);
  const bits = await crypto.subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt, iterations: ROUNDS }, key, 256);
  return [...new Uint8Array(bits)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function setPin(pin, minutes) {
  if (!pin) { await box.setFact("pin", null); return; }
  const salt = crypto.getRandomValues(new Uint8Array(16));
  await box.setFact("pin", { salt, digest: await digest(pin, salt), minutes, wrong: 0 });
  note(true);
}

export const pinIsSet = async () => Boolean(await box.fact("pin"));

function note(now = false) {
  if (document.querySelector("dialog#pin[open]") || (!now && Date.now() - noted < NOTED_MS)) return;
  noted = Date.now();
  localStorage.setItem("active", String(noted));
}

// Asks for the PIN when nobody touched the phone for so many minutes; five wrong ones sign out, and nothing is lost.
export async function askPin(signOut) {
  const pin = await box.fact("pin");
  if (!pin || document.querySelector("dialog#pin[open]")) return;
  const idle = Date.now() - Number(localStorage.getItem("active") ?? 0);
  if (idle < pin.minutes * 60_000) return;
  const dialog = document.createElement("dialog");
  dialog.id = "pin";
  dialog.setAttribute("aria-labelledby", "pin-words");
  const label = Object.assign(document.createElement("label"), { id: "pin-words", htmlFor: "pin-typed", textContent: gettext("PIN") });
  const typed = Object.assign(document.createElement("input"), { id: "pin-typed", type: "password", inputMode: "numeric", autocomplete: "off", maxLength: 12 });
  const said = Object.assign(document.createElement("p"), { className: "error" });
  said.setAttribute("role", "alert");
  const open = Object.assign(document.createElement("button"), { className: "main", textContent: gettext("Open") });
  const form = document.createElement("form");
  form.append(label, typed, said, open);
  dialog.append(form);
  dialog.addEventListener("cancel", (event) => event.preventDefault());
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const given = typed.value;
    typed.value = "";
    open.disabled = true;
    const right = (await digest(given, pin.salt)) === pin.digest;
    open.disabled = false;
    if (right) {
      await box.setFact("pin", { ...pin, wrong: 0 });
      dialog.close();
      dialog.remove();
      note(true);
      return;
    }
    const wrong = ((await box.fact("pin"))?.wrong ?? 0) + 1;
    await box.setFact("pin", { ...pin, wrong });
    said.textContent = gettext("That is not the PIN.");
    if (wrong >= MOST_WRONG) { await box.setFact("pin", null); await signOut(); }
  });
  document.body.append(dialog);
  dialog.showModal();
}

export function watchPauses(signOut) {
  note();
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, () => note(), { passive: true });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) askPin(signOut); });
}
