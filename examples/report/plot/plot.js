(() => {
"use strict";

const svgName = "http://www.w3.org/2000/svg";
const numbers = text => text.split(",").map(Number);
const signed = text => text.replace("-", "−");

// make returns a new element with attributes and, perhaps, words.
function make(name, attributes, words, space) {
  const element = space ? document.createElementNS(space, name) : document.createElement(name);
  for (const key in attributes) element.setAttribute(key, attributes[key]);
  if (words) element.textContent = words;
  return element;
}

// curveOf reads what a curve's group says about itself.
function curveOf(group) {
  const d = group.dataset, list = text => text === undefined ? null : text.split(",");
  return {group, name: d.name, index: d.curve, y: list(d.y), low: list(d.low), high: list(d.high),
    prefix: d.prefix || "", separate: d.separate !== undefined, off: false, write() {}};
}

// say returns a curve's value at place i and its uncertainty in words; nothing
// where a series of separate values has none.
function say(curve, i, unit) {
  if (!curve.y[i]) return [curve.separate ? "" : "not known", ""];
  const value = curve.prefix + signed(curve.y[i]) + (unit ? "\u00a0" + unit : "");
  const sure = curve.low && curve.low[i] && curve.high[i];
  return [value, sure ? `${signed(curve.low[i])} to ${signed(curve.high[i])}` : ""];
}

// toggles makes the checkboxes of the legend work.
function toggles(legend, curves, changed) {
  for (const curve of curves) {
    const item = legend.querySelector(`li[data-curve="${curve.index}"]`);
    const box = item.querySelector("input");
    box.hidden = box.disabled = false;
    const cell = item.appendChild(make("span", {class: "plot-value"}));
    const value = cell.appendChild(make("span")), sure = cell.appendChild(make("span", {class: "plot-sure"}));
    curve.write = words => { [value.textContent, sure.textContent] = words; };
    box.addEventListener("change", () => {
      curve.off = !box.checked;
      curve.group.classList.toggle("plot-off", curve.off);
      item.classList.toggle("plot-off", curve.off);
      changed();
    });
  }
}

// start makes one plot live. How to read values is said at the first alone.
function start(svg, number) {
  const d = svg.dataset, unit = d.unit;
  const [left, top, width, height] = numbers(d.area), [fullWidth, fullHeight] = numbers(d.size);
  const range = numbers(d.range), log = d.log === "true";
  const curves = [...svg.querySelectorAll("[data-curve]")].map(curveOf);
  const legend = document.getElementById(d.plot + "-legend");
  (svg.closest(".plot") || legend || svg).classList.add("plot-live");
  let shown = -1;
  if (legend) toggles(legend, curves, () => { if (shown >= 0) show(shown, true); });
  if (!d.at) return;

  const places = numbers(d.at), names = d.names.split(",");
  const frame = make("div", {class: "plot-frame"});
  const slider = make("div", {class: "plot-cursor", role: "slider", tabindex: 0,
    "aria-label": "Read values: " + svg.querySelector("title").textContent,
    "aria-valuemin": 0, "aria-valuemax": places.length - 1, "aria-valuenow": 0, "aria-valuetext": names[0]});
  const percent = (part, whole) => 100 * part / whole + "%";
  Object.assign(slider.style, {left: percent(left, fullWidth), top: percent(top, fullHeight),
    width: percent(width, fullWidth), height: percent(height, fullHeight)});
  svg.replaceWith(frame);
  frame.append(svg, slider);
  const said = make("p", {class: legend ? "plot-said" : "plot-note", "aria-live": "polite"});
  frame.after(said);
  if (!number) frame.after(make("p", {class: "plot-hint"}, matchMedia("(hover: none)").matches ?
    "To read values, touch a plot and move along it." : "To read values, point at a plot, or move to it with Tab and use the arrow keys."));

  const where = svg.appendChild(make("text", {class: "plot-where", x: left, y: top + height + 14, dy: "2.25em"}, "", svgName));
  const upright = svg.appendChild(make("path", {class: "plot-at"}, "", svgName));
  for (const curve of curves) {
    curve.dot = svg.appendChild(make("path", {class: "plot-dot " + curve.group.getAttribute("class")}, "", svgName));
  }

  // heightOf is where a value lies in the viewBox; outside the frame there is none.
  function heightOf(text) {
    const scale = log ? Math.log : v => v, v = Number(text);
    const place = (scale(v) - scale(range[0])) / (scale(range[1]) - scale(range[0]));
    return place >= 0 && place <= 1 ? top + height * (1 - place) : NaN;
  }

  let waiting = 0;
  function show(i, now) {
    shown = Math.max(0, Math.min(places.length - 1, i));
    const x = places[shown], words = [];
    slider.setAttribute("aria-valuenow", shown);
    slider.setAttribute("aria-valuetext", names[shown]);
    upright.setAttribute("d", `M${x} ${top}v${height}`);
    where.textContent = "At " + names[shown];
    for (const curve of curves) {
      const [value, sure] = curve.off ? ["", ""] : say(curve, shown, unit);
      const y = curve.off || !curve.y[shown] ? NaN : heightOf(curve.y[shown]);
      curve.write([value, sure]);
      curve.dot.setAttribute("d", isNaN(y) ? "" : `M${x} ${y}h0`);
      if (value) words.push(`${curve.name} ${value}` + (sure ? ` (${sure})` : ""));
    }
    clearTimeout(waiting);
    const speak = () => { said.textContent = words.join("; "); };
    if (now) speak(); else waiting = setTimeout(speak, 300);
  }

  function hide() {
    clearTimeout(waiting);
    shown = -1;
    upright.setAttribute("d", "");
    where.textContent = "";
    said.textContent = "";
    for (const curve of curves) {
      curve.dot.setAttribute("d", "");
      curve.write(["", ""]);
    }
  }

  function point(event) {
    const box = slider.getBoundingClientRect();
    const x = left + width * (event.clientX - box.left) / box.width;
    let best = 0;
    places.forEach((place, i) => { if (Math.abs(place - x) < Math.abs(places[best] - x)) best = i; });
    show(best, false);
  }

  slider.addEventListener("pointermove", point);
  slider.addEventListener("pointerdown", point);
  slider.addEventListener("pointerleave", event => {
    if (event.pointerType === "mouse" && document.activeElement !== slider) hide();
  });
  slider.addEventListener("focus", () => { if (shown < 0) show(Math.floor(places.length / 2), true); });
  slider.addEventListener("blur", hide);
  slider.addEventListener("keydown", event => {
    const step = event.shiftKey ? 10 : 1;
    const moves = {ArrowLeft: shown - step, ArrowDown: shown - step, ArrowRight: shown + step, ArrowUp: shown + step,
      PageDown: shown - 10, PageUp: shown + 10, Home: 0, End: places.length - 1};
    if (event.key === "Escape") { hide(); return; }
    if (!(event.key in moves) || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    show(moves[event.key], true);
  });
}

const all = () => document.querySelectorAll("svg[data-plot]").forEach(start);
if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", all); else all();
})();
