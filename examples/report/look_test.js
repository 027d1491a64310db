// Functions with which a test looks at a page; each returns a list of what is wrong.

const visible = e => e.getClientRects().length > 0 && e.checkVisibility({visibilityProperty: true});
const name = e => (e.closest("[id]") ? e.closest("[id]").id + ": " : "") + (e.textContent || e.getAttribute("class") || e.tagName).trim().slice(0, 40);

// contrast is WCAG 2.2's, of two colours as red, green and blue from 0 to 255.
function contrast(a, b) {
  const light = colour => {
    const [r, g, b] = colour.map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const [high, low] = [light(a), light(b)].sort((x, y) => y - x);
  return (high + 0.05) / (low + 0.05);
}

const colour = text => (text.match(/[\d.]+/g) || []).map(Number);

// paper is the colour behind an element.
function paper(e) {
  for (; e; e = e.parentElement) {
    const c = colour(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0) return c.slice(0, 3);
  }
  return [255, 255, 255];
}

// texts are the elements that hold words of their own.
const texts = () => [...document.querySelectorAll("body *")].filter(e => visible(e) && !e.closest("script, style, title, desc") &&
  [...e.childNodes].some(n => n.nodeType === Node.TEXT_NODE && n.data.trim()));

function faint(text, line) {
  const wrong = [];
  for (const e of texts()) {
    const s = getComputedStyle(e), ink = colour(e.closest("svg") ? s.fill : s.color).slice(0, 3);
    if (contrast(ink, paper(e)) < text) wrong.push(name(e));
  }
  for (const e of document.querySelectorAll(".plot-path, .plot-marker, .plot-hanging, .plot-bars, .plot-stems")) {
    if (visible(e) && contrast(colour(getComputedStyle(e).stroke).slice(0, 3), paper(e)) < line) wrong.push(name(e));
  }
  return wrong;
}

// crowded finds words in plots that overlap, or reach beyond their figure or,
// where they stand by a curve, beyond the frame that clips them.
function crowded() {
  const wrong = [], give = 2;
  for (const svg of document.querySelectorAll(".plot-svg")) {
    const figure = svg.closest("figure").getBoundingClientRect(), box = svg.getBoundingClientRect();
    const [left, top, width, height] = svg.dataset.area.split(",").map(v => Number(v) * box.width / Number(svg.dataset.size.split(",")[0]));
    const words = [...svg.querySelectorAll("text")].filter(e => visible(e) && e.textContent);
    const boxes = words.map(e => e.getBoundingClientRect());
    boxes.forEach((b, i) => {
      if (b.left < figure.left - give || b.right > Math.max(figure.right, document.documentElement.clientWidth) + give || b.top < figure.top || b.bottom > figure.bottom) wrong.push("beyond the figure " + name(words[i]));
      if (words[i].closest("[clip-path]") && (b.left < box.left + left - give || b.right > box.left + left + width + give || b.top < box.top + top - give || b.bottom > box.top + top + height + give)) wrong.push("clipped " + name(words[i]));
      for (let k = 0; k < i; k++) {
        const o = boxes[k];
        if (b.left < o.right - give && o.left < b.right - give && b.top < o.bottom - give && o.top < b.bottom - give) wrong.push(name(words[i]) + " over " + name(words[k]));
      }
    });
  }
  return wrong;
}

// hidden finds plots, their legends and definitions that are not to be seen, or
// have no size, and are in no fold that is closed, nor in the unit that is not chosen.
const hidden = () => [...document.querySelectorAll("figure, figure svg.plot-svg, .plot-legend, .definitions dt, .definitions dd > p:not(.back)")]
  .filter(e => !e.closest("details:not([open]), .switched > input:checked ~ div:nth-of-type(1), .switched > input:not(:checked) ~ div:nth-of-type(2)")).filter(e => { const b = e.getBoundingClientRect(); return !visible(e) || b.width < 5 || b.height < 5; }).map(name);

// unexplained finds plots that lead to no definition, and no plot before them in their section does.
function unexplained() {
  let led = false;
  const wrong = [];
  for (const e of document.querySelectorAll("h2, figure")) {
    if (e.tagName === "H2") led = false;
    else if (e.querySelector(".plot-note a")) led = true;
    else if (!led) wrong.push(e.id);
  }
  return wrong;
}

const inView = e => { const b = e.getBoundingClientRect(); return b.top > -1 && b.bottom < innerHeight + 1; };

// arrived tells whether the focus is, or comes within two seconds, to an element
// in view.
const arrived = id => new Promise(done => {
  const until = performance.now() + 2000;
  const look = () => {
    const there = document.activeElement.id === id && inView(document.activeElement);
    if (there || performance.now() > until) done(there); else setTimeout(look, 10);
  };
  look();
});

// watchFocus notes every stop of the focus from now on, and returns how many
// there should be.
function watchFocus() {
  addEventListener("focusin", event => {
    const s = getComputedStyle(event.target);
    event.target.dataset.focus = s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 1 ? "seen" : "not seen";
  });
  return stops().length;
}
const stops = () => [...document.querySelectorAll("a[href], button, input:not([disabled]), summary, [tabindex='0']")].filter(visible);
const unreached = () => stops().filter(e => e.dataset.focus !== "seen").map(e => (e.dataset.focus || "not reached") + " " + name(e));
