"use strict";
// The line: every ticket a mark at its own number between 0 and 1, the view
// closing in on the low end until one mark stands alone. Nothing is played: at
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

  const last = 0.9, apart = 1 / 14, context = 15, waits = 0.1, moves = 0.75, reveals = 0.88;
  const units = { wide: 60, tall: 27, strip: 46, narrow: 25 };
  const clamp = (x) => Math.min(1, Math.max(0, x));

  // end is how much of the scale is in view at the end.
  function end(scores, shown) {
    const n = scores.length;
    if (n === 0) return 1;
    const k = Math.min(Math.max(shown, 1), n), own = scores[k - 1], next = k < n ? scores[k] : 1;
    const m = Math.min(k + context, Math.floor((n + k + 1) / 2)), edge = m < n ? (scores[m - 1] + scores[m]) / 2 : 1;
    let span = Math.min(1, edge, (next - own) / apart);
    if (span < own / last) span = (own + next) / 2;
    return span > 0 ? Math.min(span, 1) : 1;
  }

  // span is how much of the scale is in view at a phase.
  function span(phase, end) {
    const t = clamp((phase - waits) / moves);
    return Math.exp(t * t * (3 - 2 * t) * Math.log(end));
  }

  const reveal = (phase) => clamp((phase - reveals) / (1 - reveals));
  const upper = (span) => clamp((1 / span - 1) * 2);

  function closer(span) {
    const times = 1 / span;
    if (times < 1.05) return "1";
    return `the low end, ${times < 10 ? Math.floor(times * 10 + 0.5) / 10 : Math.floor(times + 0.5).toLocaleString("en-US")} times closer`;
  }

  function layout(width, height, form) {
    const u = width / units[form], base = height - 1.7 * u, high = base - 3.9 * u;
    return { left: 0.2 * u, right: width - 0.2 * u, base, high, low: 0.55 * high, upper: 2.5 * u, upperHigh: 0.9 * u,
      thin: Math.max(1, 0.1 * u), bold: Math.max(3, 0.32 * u), unit: u };
  }

  const at = (l, score, span) => l.left + score / span * (l.right - l.left);
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

  // inView is how many of the sorted scores are in view.
  function inView(sorted, span) {
    let from = 0, to = sorted.length;
    while (from < to) { const mid = (from + to) >> 1; if (sorted[mid] <= span) from = mid + 1; else to = mid; }
    return from;
  }

  // cover adds up how much of each column of pixels the marks in view cover.
  // Of more than 65,536 marks some stand for those beside them too, with as much
  // weight: at fifty marks a column nobody sees the difference.
  function cover(sorted, l, span, width) {
    if (columns.length < width + 8) columns = new Float32Array(width + 8);
    columns.fill(0);
    const count = inView(sorted, span), stroke = Math.max(1, Math.round(l.thin)), step = Math.max(1, Math.ceil(count / 65536));
    const scale = (l.right - l.left) / span, from = l.left - stroke / 2;
    for (let i = step >> 1; i < count; i += step) {
      const x = Math.max(0, from + sorted[i] * scale), c = Math.floor(x), part = x - c;
      columns[c] += step * (1 - part);
      for (let j = 1; j < stroke; j++) columns[c + j] += step;
      columns[c + stroke] += step * part;
    }
    return Math.max(1, 1.4 * count * stroke / (l.right - l.left)); // what counts as full ink
  }

  // marks draws all marks in view, standing on y.
  function marks(g, sorted, l, span, y, high) {
    const width = g.canvas.width, full = cover(sorted, l, span, width);
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
    marks(g, sorted, l, 1, canvas.height, canvas.height);
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
  function scaleOf(g, l, span, colour) {
    g.fillStyle = colour.ink;
    g.fillRect(l.left, l.base, l.right - l.left, Math.max(1, l.thin * 0.75));
    g.fillStyle = colour.soft;
    text(g, "0", l.left, l.base + 1.35 * l.unit, "left");
    text(g, closer(span), l.right, l.base + 1.35 * l.unit, "right");
  }

  // upperLine shows all marks, and which of them are in view below.
  function upperLine(g, sorted, l, span, own, label, colour) {
    const alpha = upper(span);
    if (alpha === 0) return;
    const marks = all(sorted, l, g.canvas.width, colour.soft);
    g.globalAlpha = alpha;
    g.fillStyle = colour.soft;
    g.drawImage(marks, 0, l.upper - marks.height);
    g.fillRect(l.left, l.upper, l.right - l.left, Math.max(1, l.thin / 2));
    g.strokeStyle = colour.soft;
    g.lineWidth = Math.max(1, l.thin / 2);
    g.beginPath();
    g.moveTo(l.left, l.upper); g.lineTo(l.left, l.base - l.high - 0.35 * l.unit);
    g.moveTo(at(l, span, 1), l.upper); g.lineTo(l.right, l.base - l.high - 0.35 * l.unit);
    g.stroke();
    if (own === null) return;
    const x = at(l, own, 1), words = label, left = x > (l.left + l.right) / 2;
    g.fillStyle = colour.press;
    stroke(g, l, x, l.upper, 1.5 * l.upperHigh, l.bold * 0.7);
    if (words) text(g, words, left ? x + l.bold / 2 : x - l.bold / 2, l.upper - 1.65 * l.upperHigh, left ? "right" : "left");
  }

  // shownMarks grow thick and red, each with its label where there is room.
  function shownMarks(g, l, places, span, grown, colour) {
    if (grown === 0) return;
    const placed = rows(l);
    g.fillStyle = colour.red;
    for (const p of places) {
      if (p.score > span) continue;
      const x = at(l, p.score, span), row = placed(x, p.label?.length ?? 0), high = shownHigh(l, row);
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
    const now = span(phase, end(sorted, shown || places.reduce((k, p) => Math.max(k, p.rank), 1)));
    const own = mine === null ? null : scores[mine];
    g.clearRect(0, 0, canvas.width, canvas.height);
    g.font = `${l.unit}px ${colour.family}`;
    g.textBaseline = "alphabetic";
    upperLine(g, sorted, l, now, own, mineLabel, colour);
    g.globalAlpha = 1;
    g.fillStyle = colour.ink;
    marks(g, sorted, l, now, l.base, l.low);
    if (own !== null && own <= now) {
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

  return { geometry: { end, span, reveal, upper, closer, layout, at, labelLeft, rows, shownHigh }, drawLine, playLine, sizeLine, still };
})();
var { drawLine, playLine, sizeLine } = evenhandLine;
