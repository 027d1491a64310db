"use strict";

// The engine plays the versions of one excerpt together, in a loop, and lets one of them be heard.
// It works on any BaseAudioContext, so that a test can render what would be heard.
const fadeSeconds = 0.02; // of a crossfade

function engine(context, versions, out) {
  const gains = versions.map((samples, i) => {
    const buffer = context.createBuffer(1, samples.length, versions.rate);
    buffer.copyToChannel(samples, 0);
    const source = context.createBufferSource(), gain = context.createGain();
    source.buffer = buffer;
    source.loop = true;
    gain.gain.value = 0;
    source.connect(gain).connect(out);
    source.start(0);
    return {source, gain: gain.gain, level: 0, from: 0, at: 0};
  });
  // A gain at a time, by the ramp that was set last.
  const level = (g, time) => g.from + (g.level - g.from) * Math.min(1, Math.max(0, (time - g.at) / fadeSeconds));
  return {
    // hear makes version i the one that is heard from a time in seconds on; −1 is silence. The
    // gains of the one that goes and of the one that comes always add up to 1.
    hear(i, time) {
      gains.forEach((g, k) => {
        const now = level(g, time);
        g.gain.cancelScheduledValues(time);
        g.gain.setValueAtTime(now, time);
        g.gain.linearRampToValueAtTime(k === i ? 1 : 0, time + fadeSeconds);
        [g.from, g.level, g.at] = [now, k === i ? 1 : 0, time];
      });
    },
    stop() { gains.forEach(g => g.source.stop()); },
  };
}

// samplesOf reads base64 of 16-bit integers, little end first.
function samplesOf(text) {
  const bytes = atob(text), samples = new Float32Array(bytes.length / 2);
  for (let i = 0; i < samples.length; i++) {
    const v = bytes.charCodeAt(2 * i) | bytes.charCodeAt(2 * i + 1) << 8;
    samples[i] = (v > 32767 ? v - 65536 : v) / 32768;
  }
  return samples;
}

// coin returns 0 or 1 by the browser's cryptographic generator.
const coin = () => crypto.getRandomValues(new Uint8Array(1))[0] & 1;

// atLeast is the probability of k or more right answers of n where each is right with probability p.
function atLeast(k, n, p) {
  let sum = 0;
  for (let i = k; i <= n; i++) {
    let term = 1;
    for (let j = 1; j <= i; j++) term *= (n - i + j) / j * p;
    sum += term * (1 - p) ** (n - i);
  }
  return k <= 0 ? 1 : Math.min(1, sum);
}

// interval holds the share of right answers with 95 % probability (Clopper and Pearson 1934).
function interval(k, n) {
  const solve = wanted => {
    let low = 0, high = 1;
    for (let i = 0; i < 60; i++) {
      const middle = (low + high) / 2;
      if (wanted(middle)) high = middle; else low = middle;
    }
    return (low + high) / 2;
  };
  return [k === 0 ? 0 : solve(p => atLeast(k, n, p) > 0.025), k === n ? 1 : solve(p => 1 - atLeast(k + 1, n, p) < 0.025)];
}

const percent = share => (100 * share).toFixed(share > 0 && share < 0.001 ? 4 : share < 0.1 ? 1 : 0).replace(/^0\.0000$/, "less than 0.0001") + " %";

// outcome says in words what k right answers of n show.
function outcome(k, n) {
  const [low, high] = interval(k, n);
  return `${k} of ${n} were right. By guessing alone, ${k} or more of ${n} are right in ${percent(atLeast(k, n, 0.5))} of runs. ` +
    `With 95 % confidence you are right in ${percent(low)} to ${percent(high)} of trials; guessing is 50 %.`;
}

(() => {
  const page = document.querySelector("main.listening");
  if (!page) return;
  const $ = id => document.getElementById(id);
  const Context = window.AudioContext;
  if (!Context || !window.crypto) {
    $("no-sound").hidden = false;
    $("set-up").hidden = true;
    return;
  }
  const quietest = -40, loudest = 0, step = 2; // dB
  let context, volume, player, gain = quietest;
  let trial, trials, right, secret, order, started, pairing;

  const say = text => { $("said").textContent = text; };
  function setGain(value) {
    gain = Math.min(loudest, Math.max(quietest, value));
    $("gain").textContent = `${gain === 0 ? "0" : "−" + -gain} dB`;
    $("softer").disabled = gain <= quietest;
    $("louder").disabled = gain >= loudest;
    if (volume) volume.gain.setTargetAtTime(10 ** (gain / 20), context.currentTime, 0.02);
  }
  // order[0] is the version that is called A, order[1] the one called B; X is the one of secret.
  const version = letter => order[letter === "A" ? 0 : letter === "B" ? 1 : secret];
  function hear(letter) {
    if (!player) return;
    player.hear(version(letter), context.currentTime + 0.005);
    for (const l of "ABX") $("hear-" + l).setAttribute("aria-pressed", l === letter);
    say(`You hear ${letter}.`);
  }
  function next() {
    secret = coin();
    $("trial").textContent = `Trial ${trial + 1} of ${trials}`;
    hear("A");
  }
  function answer(letter) {
    if (!player) return;
    if (version(letter) === order[secret]) right++;
    trial++;
    if (trial < trials) return next();
    finish();
  }
  function silence() {
    if (!player) return;
    const ended = player;
    ended.hear(-1, context.currentTime);
    setTimeout(() => ended.stop(), 200);
    player = null;
  }
  function finish() {
    silence();
    $("run").hidden = true;
    $("result").hidden = false;
    const names = order.map(i => pairing.names[i]);
    $("outcome").textContent = outcome(right, trials);
    $("which").textContent = `A was: ${names[0]}. B was: ${names[1]}.`;
    $("report").value = `${page.dataset.pair}: ${pairing.piece}\nA: ${names[0]}\nB: ${names[1]}\n${outcome(right, trials)}\nGain at the end: ${gain} dB. ${started}`;
    $("result-heading").focus();
  }
  function start() {
    const option = $("comparison").selectedOptions[0];
    const data = JSON.parse($(option.dataset.piece).textContent);
    const chosen = [Number(option.dataset.a), Number(option.dataset.b)];
    const versions = chosen.map(i => samplesOf(data.versions[i].samples));
    versions.rate = data.rate;
    pairing = {piece: data.name, names: chosen.map(i => data.versions[i].name)};
    context ||= new Context();
    context.resume();
    volume = context.createGain();
    volume.gain.value = 10 ** (gain / 20);
    volume.connect(context.destination);
    player = engine(context, versions, volume);
    trials = Math.min(25, Math.max(5, Math.round(Number($("trials").value)) || 16));
    [trial, right, started] = [0, 0, new Date().toISOString().slice(0, 10)];
    const first = coin();
    order = [first, 1 - first];
    $("set-up").hidden = $("result").hidden = true;
    $("run").hidden = false;
    next();
    $("hear-A").focus();
  }
  $("start").addEventListener("click", start);
  for (const l of "ABX") $("hear-" + l).addEventListener("click", () => hear(l));
  for (const l of "AB") $("is-" + l).addEventListener("click", () => answer(l));
  $("softer").addEventListener("click", () => setGain(gain - step));
  $("louder").addEventListener("click", () => setGain(gain + step));
  $("stop").addEventListener("click", () => { silence(); $("run").hidden = true; $("set-up").hidden = false; $("start").focus(); });
  $("again").addEventListener("click", () => { $("result").hidden = true; $("set-up").hidden = false; $("start").focus(); });
  $("copy").addEventListener("click", async () => {
    $("report").select();
    try { await navigator.clipboard.writeText($("report").value); } catch { document.execCommand("copy"); }
    $("copied").textContent = "Copied.";
  });
  document.addEventListener("keydown", event => {
    if ($("run").hidden || event.ctrlKey || event.metaKey || event.altKey) return;
    const does = {a: () => hear("A"), b: () => hear("B"), x: () => hear("X"), 1: () => answer("A"), 2: () => answer("B"), "+": () => setGain(gain + step), "-": () => setGain(gain - step)}[event.key.toLowerCase()];
    if (does) { event.preventDefault(); does(); }
  });
  setGain(quietest);
})();
