// Minutes of contact: the end is kept on the phone, so a sleeping phone or a killed tab still knows it, and it sounds.

import * as box from "./outbox.js";

const bar = document.getElementById("timer");
const words = bar.querySelector("span");
let running;
let ticking;
let sound;
let awake;

const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

function show() {
  bar.hidden = !running;
  if (!running) return;
  const left = Math.ceil((running.until - Date.now()) / 1000);
  bar.classList.toggle("over", left <= 0);
  words.textContent = left > 0 ? `${running.words}: ${clock(left)}` : `${running.words}: ${interpolate(gettext("over since %(time)s, rinse"), { time: clock(-left) }, true)}`;
  if (left <= 0 && !running.sounded) {
    running.sounded = true;
    box.setFact("timer", running);
    ring();
  }
}

function ring() {
  navigator.vibrate?.([400, 200, 400, 200, 400]);
  sound ??= "AudioContext" in self ? new AudioContext() : undefined;
  if (!sound) return;
  for (const at of [0, 0.5, 1]) {
    const tone = sound.createOscillator();
    const loud = sound.createGain();
    tone.frequency.value = 880;
    loud.gain.value = 0.4;
    tone.connect(loud).connect(sound.destination);
    tone.start(sound.currentTime + at);
    tone.stop(sound.currentTime + at + 0.3);
  }
}

// The screen stays on while minutes are counted, where the browser allows it.
async function stayAwake() {
  awake = running ? await navigator.wakeLock?.request("screen").catch(() => undefined) : void awake?.release();
}

function run() {
  clearInterval(ticking);
  show();
  if (running) ticking = setInterval(show, 500);
  stayAwake();
}

async function start({ dataset }) {
  sound ??= "AudioContext" in self ? new AudioContext() : undefined; // a tap may make sound, a clock alone may not
  running = { until: Date.now() + Number(dataset.minutes) * 60_000, words: dataset.words, sounded: false };
  run();
  await box.setFact("timer", running);
}

bar.querySelector("button").addEventListener("click", async () => {
  running = null;
  run();
  await box.setFact("timer", null);
});
for (const button of document.querySelectorAll("button[data-minutes]")) {
  button.classList.remove("by-script");
  button.addEventListener("click", () => start(button));
}
document.addEventListener("visibilitychange", () => { if (!document.hidden) run(); });

running = await box.fact("timer").catch(() => null);
run();
