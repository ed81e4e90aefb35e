"use strict";
// The line: every ticket a mark at its own number between 0 and 1, the view
// closing in on the low end until one mark stands alone, or, where the next is
// too near for that, on those two. Nothing is played: at
// each moment the marks stand where their numbers put them.
//
//   drawLine(canvas, {scores, places, mine, mineLabel, phase, form, shown})
//   playLine(canvas, view, seconds = 10)   → {stop(), done}, done a promise
//
//   scores     Float64Array, one number for each ticket, in any order; a sorted
//              one is drawn at once, another is sorted first
//   places     [{rank, score, label}], marks that become thick and red at the end
//   mine       index of the viewer's own mark in scores, or null; mineLabel its words
//   phase      0 (all of the scale) to 1 (the first mark stands alone)
//   form       "wide", "tall", "strip" or "narrow": how large the letters are
//   shown      how many first places stand apart at the end; otherwise the
//              highest rank among places, or 1
//
// It fills the canvas, whose width and height are in device pixels (sizeLine
// sets them), and takes colours and letters from the page's style. Nothing is
// painted behind the marks.
//
// The server draws the same picture as an SVG: web/line_geometry.go has the
// functions of "geometry" under the same names.

const evenhandLine = (() => {
  // ---- geometry: what is where, and when ----

  const last = 0.9, apart = 1 / 14, middle = 0.45, margin = 0.04, context = 15, waits = 0.1, moves = 0.75, reveals = 0.88;
  const units = { wide: 60, tall: 27, strip: 46, narrow: 25 };
  const clamp = (x) => Math.min(1, Math.max(0, x));

  // A view is the part of the scale that is in view, from "from" on, "span" wide.
  const whole = { from: 0, span: 1 };
  const has = (view, score) => view.from <= score && score <= view.from + view.span;

  // end is what is in view at the end.
  function end(scores, shown) {
    const n = scores.length;
    if (n === 0) return whole;
    const k = Math.min(Math.max(shown, 1), n), own = scores[k - 1], next = k < n ? scores[k] : 1;
    const m = Math.min(k + context, Math.floor((n + k + 1) / 2)), edge = m < n ? (scores[m - 1] + scores[m]) / 2 : 1;
    const span = Math.min(1, edge, (next - own) / apart);
    if (span < own / last) return near(scores[0], own, next, k === n);
    return span > 0 ? { from: 0, span } : whole;
  }

  // near is that view where the next mark can't be told apart while 0 is in view.
  function near(first, own, next, alone) {
    const span = (next - own) / apart, from = Math.min(own - middle * span, 1 - span);
    if (alone || span <= 0 || first < from + margin * span) return { from: 0, span: Math.min(1, own / last) };
    return { from: Math.max(0, from), span };
  }

  // span is how much of the scale is in view at a phase.
  function span(phase, end) {
    const t = clamp((phase - waits) / moves);
    return Math.exp(t * t * (3 - 2 * t) * Math.log(end));
  }

  // viewAt is what is in view at a phase.
  function viewAt(phase, end) {
    const now = span(phase, end.span);
    return end.span >= 1 ? whole : { from: end.from / (1 - end.span) * (1 - now), span: now };
  }

  const reveal = (phase) => clamp((phase - reveals) / (1 - reveals));
  const upper = (view) => clamp((1 / view.span - 1) * 2);

  function closer(view) {
    const times = 1 / view.span, what = view.from > 0 ? "" : "the low end, ";
    if (times < 1.05) return "1";
    return `${what}${times < 10 ? Math.floor(times * 10 + 0.5) / 10 : Math.floor(times + 0.5).toLocaleString("en-US")} times closer`;
  }

  // fromWords says where the view begins, to a tenth of what is in view.
  function fromWords(view) {
    const words = view.from.toFixed(Math.ceil(1 - Math.log10(view.span)));
    return Number(words) === 0 ? "0" : words;
  }

  function layout(width, height, form) {
    const u = width / units[form], base = height - 1.7 * u, high = base - 3.9 * u;
    return { left: 0.2 * u, right: width - 0.2 * u, base, high, low: 0.55 * high, upper: 2.5 * u, upperHigh: 0.9 * u,
      thin: Math.max(1, 0.1 * u), bold: Math.max(3, 0.32 * u), unit: u };
  }

  const at = (l, score, view) => l.left + (score - view.from) / view.span * (l.right - l.left);
  const labelLeft = (l, x, letters) => x + l.bold + 0.4 * l.unit + 0.58 * l.unit * letters > l.right;

  // shownHigh is the height of a shown mark whose label stands in a row, -1: in
  // none. Each row is lower, so that a mark meets no label of those before it.
  const shownHigh = (l, row) => row < 0 ? l.low : l.high - 1.3 * l.unit * row;

  // rows places labels from left to right: each in the first row in which it
  // meets nothing, -1 in none.
  function rows(l) {
    const labels = [[], [], []], marks = [];
    return (x, letters) => {
      const wide = l.bold + 0.4 * l.unit + 0.58 * l.unit * letters, from = labelLeft(l, x, letters) ? x - wide : x;
      const fits = (row) => 1.3 * l.unit * (row + 1) <= l.high - l.low + l.unit &&
        !marks.some((m) => m.row >= 0 && m.row <= row && from < m.x && m.x < x) &&
        !labels[row].some(([a, b]) => from < b && a < from + wide) &&
        !labels.slice(row).some((taken) => taken.some(([a, b]) => a < x && x < b)); // the mark goes down through these
      const row = [0, 1, 2].findIndex(fits);
      if (row >= 0) labels[row].push([from, from + wide]);
      marks.push({ x, row });
      return row;
    };
  }

  // ---- drawing ----

  const known = new WeakMap(); // scores → sorted
  let columns = new Float32Array(0);

  function sortedOf(scores) {
    let sorted = known.get(scores);
    if (sorted) return sorted;
    sorted = scores;
    for (let i = 1; i < scores.length; i++) if (scores[i - 1] > scores[i]) { sorted = scores.slice().sort(); break; }
    known.set(scores, sorted);
    return sorted;
  }

  // before is how many of the sorted scores are below a bound, or at it.
  function before(sorted, bound, orAt) {
    let from = 0, to = sorted.length;
    while (from < to) { const mid = (from + to) >> 1; if (sorted[mid] < bound || orAt && sorted[mid] === bound) from = mid + 1; else to = mid; }
    return from;
  }

  // cover adds up how much of each column of pixels the marks in view cover.
  // Of more than 65,536 marks some stand for those beside them too, with as much
  // weight: at fifty marks a column nobody sees the difference.
  function cover(sorted, l, view, width) {
    if (columns.length < width + 8) columns = new Float32Array(width + 8);
    columns.fill(0);
    const first = before(sorted, view.from, false), end = before(sorted, view.from + view.span, true), count = end - first;
    const stroke = Math.max(1, Math.round(l.thin)), step = Math.max(1, Math.ceil(count / 65536));
    const scale = (l.right - l.left) / view.span, left = l.left - stroke / 2;
    for (let i = first + (step >> 1); i < end; i += step) {
      const x = Math.max(0, left + (sorted[i] - view.from) * scale), c = Math.floor(x), part = x - c;
      columns[c] += step * (1 - part);
      for (let j = 1; j < stroke; j++) columns[c + j] += step;
      columns[c + stroke] += step * part;
    }
    return Math.max(1, 1.4 * count * stroke / (l.right - l.left)); // what counts as full ink
  }

  // marks draws all marks in view, standing on y.
  function marks(g, sorted, l, view, y, high) {
    const width = g.canvas.width, full = cover(sorted, l, view, width);
    for (let x = 0; x <= width; x++) {
      if (columns[x] === 0) continue;
      g.globalAlpha = Math.min(1, columns[x] / full);
      g.fillRect(x, y - high, 1, high);
    }
    g.globalAlpha = 1;
  }

  // all is a picture of all marks, for the upper line. It stays the same while
  // the view below closes in, so it is made once.
  let made = { of: "" };

  function all(sorted, l, width, colour) {
    const of = `${width} ${l.upperHigh} ${colour}`;
    if (made.of === of && made.sorted === sorted) return made.canvas;
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [width, Math.ceil(l.upperHigh)];
    const g = canvas.getContext("2d");
    g.fillStyle = colour;
    marks(g, sorted, l, whole, canvas.height, canvas.height);
    made = { of, sorted, canvas };
    return canvas;
  }

  function text(g, words, x, y, align) { g.textAlign = align; g.fillText(words, x, y); }

  // beside writes a label at the top of a mark, where there is room.
  function beside(g, l, words, x, y) {
    const left = labelLeft(l, x, words.length), by = l.bold / 2 + 0.4 * l.unit;
    text(g, words, left ? x - by : x + by, y, left ? "right" : "left");
  }

  function stroke(g, l, x, y, high, width) { g.fillRect(x - width / 2, y - high, width, high); }

  // scaleOf draws the scale and what stands under its ends.
  function scaleOf(g, l, view, colour) {
    g.fillStyle = colour.ink;
    g.fillRect(l.left, l.base, l.right - l.left, Math.max(1, l.thin * 0.75));
    g.fillStyle = colour.soft;
    text(g, fromWords(view), l.left, l.base + 1.35 * l.unit, "left");
    text(g, closer(view), l.right, l.base + 1.35 * l.unit, "right");
  }

  // upperLine shows all marks, and which of them are in view below.
  function upperLine(g, sorted, l, view, own, label, colour) {
    const alpha = upper(view);
    if (alpha === 0) return;
    const marks = all(sorted, l, g.canvas.width, colour.soft);
    g.globalAlpha = alpha;
    g.fillStyle = colour.soft;
    g.drawImage(marks, 0, l.upper - marks.height);
    g.fillRect(l.left, l.upper, l.right - l.left, Math.max(1, l.thin / 2));
    g.strokeStyle = colour.soft;
    g.lineWidth = Math.max(1, l.thin / 2);
    g.beginPath();
    g.moveTo(at(l, view.from, whole), l.upper); g.lineTo(l.left, l.base - l.high - 0.35 * l.unit);
    g.moveTo(at(l, view.from + view.span, whole), l.upper); g.lineTo(l.right, l.base - l.high - 0.35 * l.unit);
    g.stroke();
    if (own === null) return;
    const x = at(l, own, whole), words = label, left = x > (l.left + l.right) / 2;
    g.fillStyle = colour.press;
    stroke(g, l, x, l.upper, 1.5 * l.upperHigh, l.bold * 0.7);
    if (words) text(g, words, left ? x + l.bold / 2 : x - l.bold / 2, l.upper - 1.8 * l.upperHigh, left ? "right" : "left");
  }

  // shownMarks grow thick and red, each with its label where there is room.
  function shownMarks(g, l, places, view, grown, colour) {
    if (grown === 0) return;
    const placed = rows(l);
    g.fillStyle = colour.red;
    for (const p of places) {
      if (!has(view, p.score)) continue;
      const x = at(l, p.score, view), row = placed(x, p.label?.length ?? 0), high = shownHigh(l, row);
      stroke(g, l, x, l.base, l.low + grown * (high - l.low), l.thin + grown * (l.bold - l.thin));
      g.globalAlpha = grown;
      if (p.label && row >= 0) beside(g, l, p.label, x, l.base - high + 0.75 * l.unit);
      g.globalAlpha = 1;
    }
  }

  function coloursOf(canvas) {
    const style = getComputedStyle(canvas), of = (name, other) => style.getPropertyValue(name).trim() || other;
    return { ink: of("--ink", "#1d1b18"), soft: of("--soft", "#5b5449"), press: of("--press", "#1f3f6e"), red: of("--red", "#a8341a"), family: style.fontFamily || "sans-serif" };
  }

  function drawLine(canvas, { scores, places = [], mine = null, mineLabel = "", phase = 1, form = "strip", shown = 0 }) {
    const g = canvas.getContext("2d"), sorted = sortedOf(scores), l = layout(canvas.width, canvas.height, form), colour = coloursOf(canvas);
    const now = viewAt(phase, end(sorted, shown || places.reduce((k, p) => Math.max(k, p.rank), 1)));
    const own = mine === null ? null : scores[mine];
    g.clearRect(0, 0, canvas.width, canvas.height);
    g.font = `${l.unit}px ${colour.family}`;
    g.textBaseline = "alphabetic";
    upperLine(g, sorted, l, now, own, mineLabel, colour);
    g.globalAlpha = 1;
    g.fillStyle = colour.ink;
    marks(g, sorted, l, now, l.base, l.low);
    if (own !== null && has(now, own)) {
      g.fillStyle = colour.press;
      stroke(g, l, at(l, own, now), l.base, l.low * 1.3, l.bold * 0.7);
      g.globalAlpha = 1 - upper(now);
      if (mineLabel && g.globalAlpha > 0) beside(g, l, mineLabel, at(l, own, now), l.base - 1.12 * l.low);
      g.globalAlpha = 1;
    }
    shownMarks(g, l, places, now, reveal(phase), colour);
    scaleOf(g, l, now, colour);
  }

  // ---- moving ----

  const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

  // sizeLine gives a canvas as many pixels as the screen has in its place, but
  // no more than two for one of the page's: small phones are slow.
  function sizeLine(canvas) {
    const ratio = Math.min(2, devicePixelRatio);
    canvas.width = Math.round(canvas.clientWidth * ratio);
    canvas.height = Math.round(canvas.clientHeight * ratio);
  }

  function playLine(canvas, view, seconds = 10) {
    let stop, began = null;
    const done = new Promise((end) => {
      let ended = false;
      stop = () => { ended = true; end(); };
      const step = (time) => {
        if (ended) return;
        began ??= time;
        const phase = still() ? 1 : clamp((time - began) / 1000 / seconds);
        drawLine(canvas, { ...view, phase });
        if (phase < 1) requestAnimationFrame(step); else stop();
      };
      requestAnimationFrame(step);
    });
    return { stop, done };
  }

  return { geometry: { end, viewAt, span, reveal, upper, closer, fromWords, layout, at, labelLeft, rows, shownHigh }, drawLine, playLine, sizeLine, still };
})();
var { drawLine, playLine, sizeLine } = evenhandLine;
