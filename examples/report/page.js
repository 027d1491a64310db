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
})();
