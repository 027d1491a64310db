"use strict";
// The page waits for the next version of the desk, and shows it without losing the place of the reader.
const desk = document.getElementById("desk"), said = document.getElementById("said"), tick = document.getElementById("tick");
let version = desk.dataset.version, word = "", sound;

function show(html) {
  const focused = document.activeElement && document.activeElement.id, typed = {};
  for (const e of desk.querySelectorAll("input:not([type=hidden])")) typed[e.id] = e.type === "checkbox" ? e.checked : e.value;
  const open = [...desk.querySelectorAll("details")].map(d => d.open);
  desk.innerHTML = html;
  for (const [id, v] of Object.entries(typed)) {
    const e = id && document.getElementById(id);
    if (e) { if (e.type === "checkbox") e.checked = v; else if (v) e.value = v; }
  }
  desk.querySelectorAll("details").forEach((d, i) => { d.open = !!open[i]; });
  if (focused && document.getElementById(focused)) document.getElementById(focused).focus();
  announce(true);
}

function announce(changed) {
  const v = desk.querySelector(".verdict");
  const now = v ? [...v.querySelectorAll(".word, .file, .do")].map(e => e.textContent).join(". ") : "";
  if (now === word) return;
  word = now;
  if (!changed) return;
  said.textContent = now;
  if (tick.checked) click();
}

function click() {
  sound = sound || new AudioContext();
  const gain = sound.createGain(), tone = sound.createOscillator(), t = sound.currentTime;
  gain.gain.setValueAtTime(0.03, t);
  gain.gain.exponentialRampToValueAtTime(0.0001, t + 0.05);
  tone.frequency.value = 880;
  tone.connect(gain).connect(sound.destination);
  tone.start(t);
  tone.stop(t + 0.06);
}

async function follow() {
  for (;;) {
    try {
      const answer = await fetch("/desk?after=" + version);
      if (answer.ok) {
        version = answer.headers.get("X-Version");
        if (answer.status === 200) show(await answer.text());
        if (answer.headers.get("X-Open")) location.assign(answer.headers.get("X-Open"));
        continue;
      }
    } catch (gone) { said.textContent = "The assistant does not answer. Start it again; this page then goes on."; }
    await new Promise(done => setTimeout(done, 2000));
  }
}

document.addEventListener("submit", async e => {
  e.preventDefault();
  const body = new URLSearchParams(new FormData(e.target, e.submitter));
  const answer = await fetch(e.target.action, { method: "POST", body });
  if (!answer.ok) said.textContent = await answer.text();
});

document.addEventListener("keydown", e => {
  if (e.ctrlKey || e.metaKey || e.altKey || e.target.matches("input:not([type=checkbox])")) return;
  if (e.key === "t") { tick.checked = !tick.checked; if (tick.checked) click(); return; }
  const button = desk.querySelector(`[data-key="${CSS.escape(e.key)}"]`);
  if (button) { e.preventDefault(); button.click(); }
});

announce(false);
follow();
