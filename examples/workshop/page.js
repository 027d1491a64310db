(() => {
"use strict";

// Everything works without this: a form and links. With it the page changes in
// place, so that eyes and focus stay where they are.
const form = document.querySelector("form");
const results = document.getElementById("results"), lesson = document.getElementById("lesson");
const status = document.getElementById("status"), selects = [...form.querySelectorAll("select")];
form.classList.add("live");

// onward brings the lesson at hand into sight where the lessons stand in one row.
function onward() {
  const row = lesson.querySelector(".contents"), now = row.querySelector("[aria-current]");
  if (now) row.scrollLeft = now.offsetLeft - row.offsetLeft - 40;
}

const mark = () => selects.forEach(s => s.parentElement.classList.toggle("changed", s.value !== s.dataset.default));

// fill sets the form to what an address asks for.
function fill(address) {
  const asked = new URL(address, location.href).searchParams;
  form.elements.lesson.value = asked.get("lesson") || "1";
  for (const s of selects) {
    const value = asked.get(s.name) || s.dataset.default;
    if (![...s.options].some(o => o.value === value)) s.add(new Option(value, value));
    s.value = value;
  }
}

// address is what the form asks for.
function address() {
  const asked = new URLSearchParams({lesson: form.elements.lesson.value});
  for (const s of selects) if (s.value !== s.dataset.default) asked.set(s.name, s.value);
  return "/?" + asked;
}

let waiting = null;

async function show(where, remember) {
  if (waiting) waiting.abort();
  const mine = waiting = new AbortController();
  const start = performance.now();
  results.setAttribute("aria-busy", "true");
  status.textContent = "Measuring…";
  mark();
  try {
    let answer = await fetch(where, {signal: mine.signal});
    while (answer.status === 503) {
      const wait = Number(answer.headers.get("Retry-After")) || 3;
      status.textContent = `The workshop is busy; asking again in ${wait} s.`;
      await new Promise(again => setTimeout(again, 1000 * wait));
      if (mine.signal.aborted) return;
      answer = await fetch(where, {signal: mine.signal});
    }
    const text = await answer.text();
    const body = text.slice(text.indexOf("<body")); // the head is here already
    const page = new DOMParser().parseFromString(body, "text/html");
    if (!page.getElementById("results")) throw new Error(page.body.textContent.trim());
    const worst = page.querySelector(".wrong strong")?.textContent || "Nothing went wrong.";
    replace(page);
    if (remember) history.pushState(null, "", where);
    status.textContent = `${worst} Shown after ${Math.round(performance.now() - start)} ms.`;
  } catch (problem) {
    if (mine.signal.aborted) return;
    status.textContent = "No answer from the workshop: is it still running? " + problem.message;
  }
  if (waiting === mine) results.removeAttribute("aria-busy");
}

// replace takes over the lesson and the results, keeps open what was open and
// the focus on a link that is still there, and wakes the plots.
function replace(page) {
  const open = new Set([...document.querySelectorAll("figure details[open]")].map(d => d.closest("figure").id));
  const sameLesson = lesson.querySelector("h3").textContent === page.querySelector("#lesson h3").textContent;
  const answered = sameLesson && document.getElementById("answer").open;
  const focused = lesson.contains(document.activeElement) && document.activeElement.getAttribute("href");
  lesson.replaceChildren(...page.getElementById("lesson").childNodes);
  results.replaceChildren(...page.getElementById("results").childNodes);
  document.getElementById("answer").open = answered;
  onward();
  for (const id of open) document.querySelector(`#${id} details`)?.setAttribute("open", "");
  if (focused) [...lesson.querySelectorAll("a")].find(a => a.getAttribute("href") === focused)?.focus();
  const plots = document.getElementById("plots"), again = document.createElement("script");
  again.nonce = plots.nonce;
  again.textContent = plots.textContent;
  results.append(again);
}

form.addEventListener("change", () => show(address(), true));
form.addEventListener("submit", event => { event.preventDefault(); show(address(), true); });
document.addEventListener("click", event => {
  const link = event.target.closest("#lesson a, #reset");
  if (!link || link.pathname !== "/" || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  event.preventDefault();
  const where = link.id === "reset" ? "/?lesson=" + form.elements.lesson.value : link.getAttribute("href");
  fill(where);
  show(where, true);
});
addEventListener("popstate", () => { fill(location.href); show(location.pathname + location.search, false); });
mark();
onward();
})();
