(() => {
"use strict";

// A telephone begins with what is essential; the rest is a touch away, and printed whole.
const narrow = matchMedia("(max-width: 34rem)"), later = document.querySelectorAll("details.later");
const fold = closed => { for (const part of later) part.open = !closed; };
fold(narrow.matches);
narrow.addEventListener("change", () => fold(narrow.matches));
addEventListener("beforeprint", () => fold(false));
addEventListener("afterprint", () => fold(narrow.matches));

// Distortion is in % everywhere or in dB everywhere.
const percent = [...document.querySelectorAll(".switched > input")];
for (const one of percent) one.addEventListener("change", () => { for (const other of percent) other.checked = one.checked; });

// A term shows its definition while it is pointed at or focused, and at a first tap; its link leads to the whole of
// it. What is shown stays while it is pointed at, and goes with Escape (WCAG 2.2, 1.4.13).
const definitions = document.getElementById("all-definitions"), tip = document.createElement("div");
if (definitions) {
  tip.id = "definition";
  tip.setAttribute("role", "tooltip");
  tip.hidden = true;
  document.querySelector("main").append(tip);
  let term = null, waiting = 0, touched = false;
  const linkAt = e => e.target instanceof Element ? e.target.closest('a[href^="#what-"]') : null;
  const hide = () => {
    clearTimeout(waiting);
    if (term) term.removeAttribute("aria-describedby");
    term = null;
    tip.hidden = true;
  };
  const soon = act => { clearTimeout(waiting); waiting = setTimeout(act, 250); };
  const show = link => {
    clearTimeout(waiting);
    const what = document.getElementById(link.hash.slice(1));
    if (link === term || !what) return;
    hide();
    term = link;
    const [name, meaning, more] = ["strong", "span", "small"].map(tag => document.createElement(tag));
    name.textContent = what.textContent;
    meaning.textContent = what.nextElementSibling.querySelector("p").textContent;
    more.textContent = touched ? definitions.dataset.tap : definitions.dataset.again;
    tip.replaceChildren(name, meaning, more);
    tip.hidden = false;
    link.setAttribute("aria-describedby", tip.id);
    const at = link.getClientRects()[0], below = at.bottom + 6, wide = document.documentElement.clientWidth;
    tip.style.left = scrollX + Math.max(8, Math.min(at.left, wide - tip.offsetWidth - 8)) + "px";
    tip.style.top = scrollY + (below + tip.offsetHeight > innerHeight && at.top > tip.offsetHeight ? at.top - tip.offsetHeight - 6 : below) + "px";
  };
  addEventListener("pointerdown", e => { touched = e.pointerType === "touch"; }, true);
  addEventListener("keydown", e => { touched = false; if (e.key === "Escape") hide(); }, true);
  document.addEventListener("pointerover", e => {
    const link = linkAt(e);
    if (e.pointerType === "touch") return;
    if (tip.contains(e.target)) clearTimeout(waiting);
    else if (link && link !== term) soon(() => show(link));
    else if (link) clearTimeout(waiting);
    else soon(() => { if (term !== document.activeElement) hide(); });
  });
  document.addEventListener("focusin", e => { const link = linkAt(e); if (link && !touched && link.matches(":focus-visible")) show(link); });
  document.addEventListener("focusout", e => { if (linkAt(e) === term) hide(); });
  document.addEventListener("click", e => {
    const link = linkAt(e);
    if (link && touched && link !== term) { e.preventDefault(); show(link); } else if (!tip.contains(e.target)) hide();
  });
}
})();
