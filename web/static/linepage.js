"use strict";
// Sets the line of a page moving, where the viewer asks for it: a still of the
// server stands there before and after. On the check page it draws from the
// numbers that the check worked out itself. Pages work without this file.

const evenhandLinePage = (() => {
  const { drawLine, playLine, sizeLine, still } = evenhandLine;
  const form = () => matchMedia("(max-width: 40rem)").matches ? "narrow" : "strip";

  function newCanvas() {
    const canvas = document.createElement("canvas");
    canvas.setAttribute("aria-hidden", "true");
    return canvas;
  }

  // watch runs the line in a canvas, with a button that also stops it.
  function watch(button, begin) {
    let playing = null;
    const words = button.textContent;
    button.addEventListener("click", async () => {
      if (playing) { playing.stop(); return; }
      button.textContent = "Stop";
      try { await begin((running) => { playing = running; return running.done; }); } finally { playing = null; button.textContent = words; }
    });
  }

  // numbersOf fetches the first 32 bits of every ticket's number. Every machine
  // with a browser has the lowest byte first, as the file has.
  async function numbersOf(address) {
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(`the numbers did not come: ${answer.status}`);
    return Float64Array.from(new Uint32Array(await answer.arrayBuffer()), (n) => n / 2 ** 32);
  }

  function startFigure(figure) {
    const span = figure.querySelector("[data-watch]"), picture = figure.querySelector("picture");
    const labels = JSON.parse(figure.dataset.labels), mine = figure.dataset.mine === undefined ? null : Number(figure.dataset.mine);
    let scores = null;
    if (still()) return;
    span.hidden = false;
    watch(span.firstChild, async (run) => {
      scores ??= await numbersOf(figure.dataset.line);
      const canvas = newCanvas(), places = labels.map((label, i) => ({ rank: i + 1, score: scores[i], label }));
      picture.before(canvas);
      picture.hidden = true;
      sizeLine(canvas);
      await run(playLine(canvas, { scores, places, mine, mineLabel: figure.dataset.mineLabel ?? "", form: form() }));
      picture.hidden = false;
      canvas.remove();
    });
  }

  // startPNG offers a still as PNG: the SVG, painted by the browser.
  function startPNG(span) {
    span.hidden = false;
    const button = span.querySelector("button");
    button.addEventListener("click", async () => {
      const link = document.createElement("a"), name = new URL(span.dataset.png, location.href);
      link.href = URL.createObjectURL(await pngOf(span.dataset.png));
      link.download = `${name.pathname.split("/")[2]}-line-${name.searchParams.get("form")}.png`;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    });
  }

  async function pngOf(address) {
    const image = new Image();
    image.src = address;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [image.naturalWidth, image.naturalHeight];
    canvas.getContext("2d").drawImage(image, 0, 0);
    return new Promise((done) => canvas.toBlob(done, "image/png"));
  }

  // drawChecked draws from what the check page worked out.
  function drawChecked(into, { sorted, places, own, winners }) {
    const canvas = newCanvas(), button = document.createElement("button"), words = document.createElement("figcaption"), figure = document.createElement("figure");
    const mine = own.length > 0 ? own[0].rank - 1 : null, first = places.slice(0, winners);
    const of = (n) => n.toLocaleString("en-US");
    const view = () => ({ scores: sorted, mine, mineLabel: mine === null ? "" : `yours: ${placeWord(mine + 1)} of ${of(sorted.length)}`, form: form(),
      places: first.map((p) => ({ rank: p.place, score: p.share, label: first.length > 1 ? `${placeWord(p.place)} ${shareOf(p.share)}` : shareOf(p.share) })) });
    const redraw = () => { sizeLine(canvas); drawLine(canvas, view()); };
    figure.className = "line";
    words.textContent = `The ${of(sorted.length)} ${sorted.length === 1 ? "number" : "numbers"} that your device worked out, each at its place between 0 and 1. ${first.length > 1 ? `The first ${of(first.length)} stand apart.` : "The smallest came first."} `;
    button.type = "button";
    button.className = "plain";
    button.textContent = "Watch it close in";
    if (!still()) words.append(button);
    figure.append(canvas, words);
    into.replaceChildren(figure);
    into.hidden = false;
    let watching = false;
    new ResizeObserver(() => { if (!watching) redraw(); }).observe(canvas);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { if (!watching) redraw(); });
    watch(button, async (run) => { watching = true; await run(playLine(canvas, view())); watching = false; redraw(); });
  }

  function placeWord(n) {
    const words = ["", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];
    const end = n % 100 >= 11 && n % 100 <= 13 ? "th" : ["th", "st", "nd", "rd"][n % 10] ?? "th";
    return words[n] ?? n.toLocaleString("en-US") + end;
  }

  // shareOf cuts a number after three figures that count.
  function shareOf(share) {
    const digits = share.toFixed(20), first = digits.search(/[1-9]/);
    return first < 0 ? "0" : digits.slice(0, first + 3);
  }

  return { startFigure, startPNG, pngOf, drawChecked };
})();

if (typeof document !== "undefined") {
  for (const figure of document.querySelectorAll("[data-line]")) evenhandLinePage.startFigure(figure);
  for (const span of document.querySelectorAll("[data-png]")) evenhandLinePage.startPNG(span);
  document.addEventListener("evenhand:line", ({ detail }) => {
    const into = document.getElementById("check-line");
    if (into && detail.places.length > 0) evenhandLinePage.drawChecked(into, detail);
  });
}
