// switched plays two versions of a piece of the page, by the page's own engine and from its own samples, into
// memory, switches 50 times, and returns the largest difference from a linear crossfade and the largest sample.
const switched = async (piece, a, b) => {
  const data = JSON.parse(document.getElementById(piece).textContent);
  const versions = [a, b].map(i => samplesOf(data.versions[i].samples));
  versions.rate = data.rate;
  const seconds = 6, context = new OfflineAudioContext(1, seconds * data.rate, data.rate);
  const player = engine(context, versions, context.destination);
  const times = [], n = versions[0].length;
  for (let i = 0; i < 50; i++) times.push(0.1 + i * 0.11 + (i % 7) * 0.003);
  player.hear(0, 0);
  times.forEach((t, i) => player.hear((i + 1) % 2, t));
  const heard = (await context.startRendering()).getChannelData(0);
  let worst = 0, loudest = 0;
  for (let i = Math.ceil(0.05 * data.rate); i < heard.length; i++) {
    const t = i / data.rate;
    let k = -1;
    while (k + 1 < times.length && times[k + 1] <= t) k++;
    const to = (k + 1) % 2, share = k < 0 ? 1 : Math.min(1, (t - times[k]) / 0.02);
    const ideal = versions[to][i % n] * share + versions[1 - to][i % n] * (1 - share);
    worst = Math.max(worst, Math.abs(ideal - heard[i]));
    loudest = Math.max(loudest, Math.abs(heard[i]));
  }
  return [worst, loudest];
};

// draw makes the lot fall as given and notes what is asked of the sound; watched switches, answers once, and returns
// how often lots were drawn, how often the sound was asked, and all that could be seen or timed of it: the page's
// text and markup, the size of each element, storage, what was loaded, and what was asked of the sound and in which
// order, but for the gains themselves.
let drawn = 0;
const asked = [];
const draw = lots => {
  crypto.getRandomValues = into => { into[0] = lots[drawn++ % lots.length]; return into; };
  for (const what of ["cancelScheduledValues", "setValueAtTime", "linearRampToValueAtTime"]) {
    const own = AudioParam.prototype[what];
    AudioParam.prototype[what] = function (...of) { asked.push(what); return own.apply(this, of); };
  }
  document.getElementById("trials").value = 5;
  document.getElementById("start").focus();
  return true;
};
const watched = () => {
  const see = () => JSON.stringify([document.querySelector("main").outerHTML, document.body.innerText, document.title,
    location.href, [...document.querySelectorAll("*")].map(e => { const b = e.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]; }),
    performance.getEntriesByType("resource").map(e => e.name), asked]);
  const seen = [];
  for (const id of ["hear-X", "hear-B", "hear-X", "hear-A", "is-A", "hear-X"]) {
    document.getElementById(id).click();
    seen.push(see());
  }
  return [drawn, asked.length, seen.join("\n")];
};
