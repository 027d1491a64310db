(() => {
"use strict";

const words = WORDS;
const colours = COLOURS;
const svgName = "http://www.w3.org/2000/svg";
const numbers = text => text.split(",").map(Number);
// local is a number as the language of the page has it.
const local = text => text.replace("-", "−").replace(".", words.Decimal);
const fill = (text, ...values) => text.replace(/%s/g, () => values.shift());

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
  if (!curve.y[i]) return [curve.separate ? "" : words.NotKnown, ""];
  const value = curve.prefix + local(curve.y[i]) + (unit ? "\u00a0" + unit : "");
  const sure = curve.low && curve.low[i] && curve.high[i];
  return [value, sure ? fill(words.Range, local(curve.low[i]), local(curve.high[i])) : ""];
}

// mapOf reads the values of a map from the pixels of its picture; null where a plot has none. Where a browser does
// not give them as they are, nothing is read.
function mapOf(svg, top, height) {
  const group = svg.querySelector(".plot-map");
  if (!group) return null;
  const image = group.querySelector("image"), [columns, rows, first] = numbers(group.dataset.cells), [min, max] = numbers(group.dataset.scale);
  const low = Number(image.getAttribute("y")) + Number(image.getAttribute("height")), tall = Number(image.getAttribute("height")) / rows;
  const picture = new Image();
  let pixels = null;
  picture.addEventListener("load", () => {
    const canvas = make("canvas", {width: columns, height: rows}).getContext("2d", {willReadFrequently: true});
    canvas.drawImage(picture, 0, 0);
    pixels = canvas.getImageData(0, 0, columns, rows).data;
  });
  picture.src = image.getAttribute("href");
  return {
    rows: group.dataset.rows.split(",").map(local),
    // up is where the middle of a row is, as a share of the axis from below.
    up: row => (top + height - low + (row + 0.5) * tall) / height,
    // value is that at a row and a place of the cursor.
    value(row, place) {
      if (!pixels) return "";
      const at = 4 * ((rows - 1 - row) * columns + first + place);
      if (pixels[at + 3] === 0) return words.NotKnown;
      const shade = colours.indexOf(pixels[at] << 16 | pixels[at + 1] << 8 | pixels[at + 2]), last = colours.length - 1;
      if (shade < 0) return "";
      const level = local(String(Math.round(min + (max - min) * shade / last))) + "\u00a0" + group.dataset.unit;
      return (shade === 0 ? "≤\u00a0" : shade === last ? "≥\u00a0" : "") + level;
    },
  };
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

// scale is an axis: at is where a value lies as a share of the whole axis, value the other way.
function scale(min, max, log) {
  const to = log ? Math.log : v => v, from = log ? Math.exp : v => v;
  return {log, at: v => (to(v) - to(min)) / (to(max) - to(min)), value: s => from(to(min) + s * (to(max) - to(min)))};
}

// ticks are round values from low to high, about as many as count.
function ticks(low, high, log, count) {
  const out = [], least = (high - low) / count, ten = 10 ** Math.floor(Math.log10(least));
  if (log && high / low > 5) {
    for (let e = Math.floor(Math.log10(low)); e <= Math.log10(high); e++)
      for (const m of high / low > 20 ? [1, 2, 5] : [1, 1.5, 2, 3, 4, 5, 7]) out.push(m * 10 ** e);
  } else {
    const step = ten * [1, 2, 5, 10].find(m => m * ten >= least);
    for (let k = Math.ceil(low / step); k * step <= high; k++) out.push(k * step);
  }
  return out.filter(v => v >= low && v <= high);
}

const short = (v, unit) => local(unit === "Hz" && v >= 1000 ? Number((v / 1000).toPrecision(5)) + "k" : String(Number(v.toPrecision(5))));

// zoomOf lets a reader look at a part of a plot, and mark values on it. Shares of the axes are from the left and
// from below.
function zoomOf(svg, map, moved) {
  const d = svg.dataset, [left, top, width, height] = numbers(d.area), axis = d.x.split(",");
  const x = scale(Number(axis[0]), Number(axis[1]), axis[2] === "true"), y = scale(...numbers(d.range), d.log === "true");
  const part = {x: [0, 1], y: [0, 1]}, marks = {x: [], y: []};
  const lines = svg.insertBefore(make("g", {class: "plot-grid plot-zoom" + (map ? " plot-over" : "")}, "", svgName), svg.querySelector(".plot-ticks"));
  const texts = [make("g", {class: "plot-ticks plot-xticks plot-zoom"}, "", svgName), make("g", {class: "plot-ticks plot-yticks plot-zoom"}, "", svgName)];
  const marked = make("g", {class: "plot-marks"}, "", svgName);
  svg.append(...texts, marked);
  const cells = [...svg.querySelectorAll(".plot-map > *")].map(e => [e, ["x", "y", "width", "height"].map(n => Number(e.getAttribute(n)))]);
  const inside = ([from, to], s) => (s - from) / (to - from);
  const within = s => s >= -1e-9 && s <= 1 + 1e-9;
  const zoom = {
    part, x, y,
    whole: () => part.x[0] === 0 && part.x[1] === 1 && part.y[0] === 0 && part.y[1] === 1,
    // right and up are places in the viewBox of shares of the whole axes; NaN where they are not shown.
    right(s) { const p = inside(part.x, s); return within(p) ? left + width * p : NaN; },
    up(s) { const p = inside(part.y, s); return within(p) ? top + height * (1 - p) : NaN; },
    // to shows shares from and to of the whole axes.
    to(xs, ys) {
      const fit = ([from, to]) => {
        const size = Math.min(1, Math.max(0.01, to - from)), start = Math.max(0, Math.min(1 - size, (from + to - size) / 2));
        return [start, start + size];
      };
      part.x = fit(xs); part.y = fit(ys);
      draw();
      moved();
    },
    // by shows less or more about a share of the X axis; of a map, of both axes.
    by(factor, around, above) {
      const about = ([from, to], s) => {
        const half = (to - from) / factor / 2, middle = Math.max(half, s === undefined ? (from + to) / 2 : s);
        return [middle - half, middle + half];
      };
      zoom.to(about(part.x, around), map ? about(part.y, above) : part.y);
    },
    mark(which, values) { marks[which] = values; draw(); },
  };

  function draw() {
    const whole = zoom.whole(), few = svg.getBoundingClientRect().width < 460;
    svg.classList.toggle("plot-zoomed", !whole);
    const [sx, sy] = [1 / (part.x[1] - part.x[0]), 1 / (part.y[1] - part.y[0])];
    const matrix = `matrix(${sx} 0 0 ${sy} ${left - sx * (left + width * part.x[0])} ${top - sy * (top + height * (1 - part.y[1]))})`;
    for (const e of svg.querySelectorAll(".plot-curve:not(.plot-dot), .plot-unknown rect")) whole ? e.removeAttribute("transform") : e.setAttribute("transform", matrix);
    for (const [e, [x, y, w, h]] of cells) {
      const now = {x: left + sx * (x - left - width * part.x[0]), y: top + sy * (y - top - height * (1 - part.y[1])), width: sx * w, height: sy * h};
      for (const name in now) e.setAttribute(name, now[name]);
    }
    for (const e of svg.querySelectorAll(".plot-unknown")) e.setAttribute("clip-path", `url(#${d.plot}-clip)`);
    for (const g of [lines, ...texts, marked]) g.replaceChildren();
    const line = (g, path) => g.append(make("path", {d: path}, "", svgName));
    if (!whole) {
      for (const v of ticks(x.value(part.x[0]), x.value(part.x[1]), x.log, few ? 4 : 8)) {
        const at = zoom.right(x.at(v));
        line(lines, `M${at} ${top}v${height}`);
        texts[0].append(make("text", {x: at, y: top + height + 14, dy: "0.8em"}, short(v, axis[3]), svgName));
      }
      for (const v of ticks(y.value(part.y[0]), y.value(part.y[1]), y.log, 10)) {
        const at = zoom.up(y.at(v));
        line(lines, `M${left} ${at}h${width}`);
        texts[1].append(make("text", {x: left - 12, y: at, dy: "0.35em"}, short(v), svgName));
      }
    }
    for (const v of marks.x) {
      const at = zoom.right(x.at(v));
      if (isNaN(at)) continue;
      line(marked, `M${at} ${top}v${height}`);
      marked.append(make("text", {x: at + 4, y: top + 16}, short(v, axis[3]), svgName));
    }
    for (const v of marks.y) {
      const at = zoom.up(y.at(v));
      if (isNaN(at)) continue;
      line(marked, `M${left} ${at}h${width}`);
      marked.append(make("text", {x: left + 4, y: at - 5}, short(v), svgName));
    }
  }
  return zoom;
}

// toolsOf is a fold with what zooms and marks without a mouse.
function toolsOf(svg, zoom, read) {
  const tools = make("details", {class: "plot-tools"});
  tools.append(make("summary", {}, words.Tools));
  const box = tools.appendChild(make("div"));
  for (const [name, act] of [[words.In, () => zoom.by(2)], [words.Out, () => zoom.by(0.5)], [words.Whole, () => zoom.to([0, 1], [0, 1])]]) {
    const button = box.appendChild(make("button", {type: "button"}, name));
    button.addEventListener("click", act);
  }
  const [vertical, horizontal] = [...svg.querySelectorAll(".plot-axis")].map(e => e.textContent);
  for (const [which, title] of [["x", horizontal], ["y", vertical]]) {
    const label = box.appendChild(make("label", {}, fill(words.Mark, title) + " "));
    const input = label.appendChild(make("input", {type: "text", inputmode: "text", size: 8, autocomplete: "off"}));
    input.addEventListener("input", () => {
      const values = input.value.replace(/−/g, "-").split(/[\s;]+/).filter(t => t).map(t => Number(t.replace(",", ".").replace(/k$/i, "e3")));
      input.setAttribute("aria-invalid", values.some(isNaN));
      zoom.mark(which, values.filter(v => !isNaN(v)));
      if (which === "x" && !isNaN(values[0])) read(values[0]);
    });
  }
  tools.addEventListener("keydown", event => { if (event.key === "Escape") { tools.open = false; tools.firstChild.focus(); } });
  return tools;
}

// start makes one plot live. How to read values is said at the first alone.
function start(svg, number) {
  const d = svg.dataset, unit = d.unit;
  const [left, top, width, height] = numbers(d.area), [fullWidth, fullHeight] = numbers(d.size);
  const curves = [...svg.querySelectorAll("[data-curve]")].map(curveOf);
  const legend = document.getElementById(d.plot + "-legend");
  (svg.closest(".plot") || legend || svg).classList.add("plot-live");
  let shown = -1, row = -1;
  if (legend) toggles(legend, curves, () => { if (shown >= 0) show(shown, true); });
  if (!d.at) return;

  const places = numbers(d.at).map(x => (x - left) / width), names = d.names.split(",").map(local);
  const frame = make("div", {class: "plot-frame"});
  const slider = make("div", {class: "plot-cursor", role: "slider", tabindex: 0,
    "aria-label": fill(words.Read, svg.querySelector("title").textContent),
    "aria-valuemin": 0, "aria-valuemax": places.length - 1, "aria-valuenow": 0, "aria-valuetext": names[0]});
  const percent = (part, whole) => 100 * part / whole + "%";
  Object.assign(slider.style, {left: percent(left, fullWidth), top: percent(top, fullHeight),
    width: percent(width, fullWidth), height: percent(height, fullHeight)});
  svg.replaceWith(frame);
  frame.append(svg, slider);
  const said = make("p", {class: "plot-said", "aria-live": "polite"});
  frame.after(said);
  if (!number) frame.after(make("p", {class: "plot-hint"}, matchMedia("(any-pointer: fine), (pointer: none)").matches ? words.Point : words.Touch));

  const where = svg.appendChild(make("text", {class: "plot-where", x: left, y: top + height + 14, dy: "2.25em"}, "", svgName));
  const upright = svg.appendChild(make("path", {class: "plot-at"}, "", svgName));
  const zone = svg.appendChild(make("path", {class: "plot-zone"}, "", svgName));
  for (const curve of curves) {
    curve.dot = svg.appendChild(make("path", {class: "plot-dot " + curve.group.getAttribute("class")}, "", svgName));
  }
  const map = mapOf(svg, top, height), across = map && svg.appendChild(make("path", {class: "plot-at"}, "", svgName));
  const zoom = zoomOf(svg, map, () => { if (shown >= 0) show(shown, false); });
  const nearest = s => places.reduce((best, p, i) => Math.abs(p - s) < Math.abs(places[best] - s) ? i : best, 0);
  frame.append(toolsOf(svg, zoom, value => show(nearest(zoom.x.at(value)), true)));

  let waiting = 0;
  function show(i, now) {
    shown = Math.max(0, Math.min(places.length - 1, i));
    const x = zoom.right(places[shown]), heard = [];
    slider.setAttribute("aria-valuenow", shown);
    slider.setAttribute("aria-valuetext", names[shown]);
    upright.setAttribute("d", isNaN(x) ? "" : `M${x} ${top}v${height}`);
    where.textContent = fill(words.At, names[shown]);
    if (map) {
      row = Math.max(0, Math.min(map.rows.length - 1, row < 0 ? map.rows.length >> 1 : row));
      const y = zoom.up(map.up(row));
      across.setAttribute("d", isNaN(y) ? "" : `M${left} ${y}h${width}`);
      where.textContent = fill(words.Cell, names[shown], map.rows[row], map.value(row, shown));
      slider.setAttribute("aria-valuetext", where.textContent);
    }
    for (const curve of curves) {
      const [value, sure] = curve.off ? ["", ""] : say(curve, shown, unit);
      const y = curve.off || !curve.y[shown] ? NaN : zoom.up(zoom.y.at(Number(curve.y[shown])));
      curve.write([value, sure]);
      curve.dot.setAttribute("d", isNaN(x + y) ? "" : `M${x} ${y}h0`);
      if (value) heard.push(`${curve.name} ${value}` + (sure ? ` (${sure})` : ""));
    }
    clearTimeout(waiting);
    const speak = () => { said.textContent = heard.join("; "); };
    if (now) speak(); else waiting = setTimeout(speak, 300);
  }

  function hide() {
    clearTimeout(waiting);
    shown = -1;
    upright.setAttribute("d", "");
    if (map) across.setAttribute("d", "");
    where.textContent = "";
    said.textContent = "";
    for (const curve of curves) {
      curve.dot.setAttribute("d", "");
      curve.write(["", ""]);
    }
  }

  // share is where the pointer is, of the frame as it is shown, and whole of the whole axes.
  function share(event) {
    const box = slider.getBoundingClientRect(), clip = v => Math.max(0, Math.min(1, v));
    return [clip((event.clientX - box.left) / box.width), clip(1 - (event.clientY - box.top) / box.height)];
  }
  const whole = ([a, b], s) => a + s * (b - a);

  // aim takes the row that is nearest to a share of the frame from below.
  const aim = up => {
    if (map) row = map.rows.reduce((best, _, i) => Math.abs(map.up(i) - whole(zoom.part.y, up)) < Math.abs(map.up(best) - whole(zoom.part.y, up)) ? i : best, 0);
  };

  let from = null;
  slider.addEventListener("pointermove", event => {
    const at = share(event);
    aim(at[1]);
    show(nearest(whole(zoom.part.x, at[0])), false);
    if (!from) return;
    const wide = Math.abs(at[0] - from[0]) > 0.02, tall = Math.abs(at[1] - from[1]) > 0.15;
    const [low, high] = tall ? [Math.min(at[1], from[1]), Math.max(at[1], from[1])] : [0, 1];
    zone.setAttribute("d", wide ? `M${left + width * from[0]} ${top + height * (1 - high)}h${width * (at[0] - from[0])}v${height * (high - low)}h${width * (from[0] - at[0])}z` : "");
  });
  slider.addEventListener("pointerdown", event => {
    aim(share(event)[1]);
    show(nearest(whole(zoom.part.x, share(event)[0])), false);
    if (event.pointerType === "touch" || event.button) return;
    from = share(event);
    slider.setPointerCapture(event.pointerId);
  });
  slider.addEventListener("pointerup", event => {
    if (!from) return;
    const to = share(event), start = from, ys = zoom.part.y;
    const drawn = zone.getAttribute("d");
    from = null;
    zone.setAttribute("d", "");
    if (!drawn) return;
    const between = (range, a, b) => [whole(range, Math.min(a, b)), whole(range, Math.max(a, b))];
    zoom.to(between(zoom.part.x, start[0], to[0]), Math.abs(to[1] - start[1]) > 0.15 ? between(ys, start[1], to[1]) : ys);
  });
  slider.addEventListener("pointercancel", () => { from = null; zone.setAttribute("d", ""); });
  slider.addEventListener("dblclick", () => zoom.to([0, 1], [0, 1]));
  slider.addEventListener("pointerleave", event => {
    if (event.pointerType === "mouse" && document.activeElement !== slider) hide();
  });
  slider.addEventListener("focus", () => { if (shown < 0) show(nearest(whole(zoom.part.x, 0.5)), true); });
  slider.addEventListener("blur", hide);
  slider.addEventListener("keydown", event => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const step = event.shiftKey ? 10 : 1;
    const moves = {ArrowLeft: shown - step, ArrowDown: shown - step, ArrowRight: shown + step, ArrowUp: shown + step,
      PageDown: shown - 10, PageUp: shown + 10, Home: 0, End: places.length - 1};
    const around = shown < 0 ? undefined : places[shown], above = map && row >= 0 ? map.up(row) : undefined;
    const zooms = {"+": () => zoom.by(2, around, above), "=": () => zoom.by(2, around, above), "-": () => zoom.by(0.5, around, above), "0": () => zoom.to([0, 1], [0, 1])};
    if (event.key === "Escape") { hide(); return; }
    if (event.key in zooms) { event.preventDefault(); zooms[event.key](); return; }
    if (!(event.key in moves)) return;
    event.preventDefault();
    if (map && /^(Arrow|Page)(Up|Down)$/.test(event.key)) {
      row += (event.key.endsWith("Up") ? 1 : -1) * (event.key.startsWith("Page") ? 10 : step);
      const up = map.up(Math.max(0, Math.min(map.rows.length - 1, row))), [a, b] = zoom.part.y;
      if (up < a || up > b) zoom.to(zoom.part.x, [up - (b - a) / 2, up + (b - a) / 2]);
      show(shown, true);
      return;
    }
    const next = Math.max(0, Math.min(places.length - 1, moves[event.key])), [a, b] = zoom.part.x;
    if (places[next] < a || places[next] > b) zoom.to([places[next] - (b - a) / 2, places[next] + (b - a) / 2], zoom.part.y);
    show(next, true);
  });
}

const all = () => document.querySelectorAll("svg[data-plot]").forEach(start);
if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", all); else all();
})();
