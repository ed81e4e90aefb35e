// The stage: shows what its stream says. When the network is gone the picture
// stays, and the stream catches up by itself.
const body = document.body, main = document.querySelector("main"), canvas = document.querySelector("canvas");
const part = (name) => main.querySelector(`[data-part="${name}"]`);
const ahead = Date.parse(body.dataset.now) - Date.now(); // the server's clock against this one
const form = document.documentElement.classList.contains("tall") ? "tall" : "wide";
let shown = "", playing = null, scores = null;

// ticket writes the groups, the last four characters in red.
function ticket(text) {
  const at = part("ticket");
  at.textContent = "";
  if (!text) return;
  text.split("-").forEach((group, i) => {
    if (i > 0) at.append("-");
    if (i === 2) at.append(document.createElement("wbr"));
    const span = document.createElement("span");
    span.textContent = group;
    if (i === 3) span.className = "last";
    at.append(span);
  });
}

function next(rows) {
  part("next").replaceChildren(...(rows ?? []).map((row) => {
    const li = document.createElement("li"), label = document.createElement("span"), mono = document.createElement("span");
    label.className = "small"; label.textContent = row.label;
    mono.className = "mono"; mono.textContent = row.ticket;
    li.append(label, " ", mono);
    return li;
  }));
}

// line plays the line once when it comes, and stands still at the places.
async function line(view) {
  const wanted = view.step === "line" || view.step === "first";
  if (playing) { playing.stop(); playing = null; }
  canvas.hidden = true;
  if (!wanted || typeof drawLine === "undefined") return;
  try {
    if (!scores) {
      const answer = await fetch(body.dataset.line);
      if (!answer.ok) return;
      scores = Float64Array.from(new Uint32Array(await answer.arrayBuffer()), (n) => n / 2 ** 32);
    }
  } catch { return; } // the sentence stands alone
  if (shown !== key(view) || scores.length === 0) return;
  canvas.hidden = false;
  sizeLine(canvas);
  if (view.step === "line") {
    playing = playLine(canvas, { scores, places: [], mine: null, form, shown: 1 }, 10);
  } else {
    drawLine(canvas, { scores, places: [{ rank: view.place, score: scores[view.place - 1], label: view.share }], mine: null, phase: 1, form });
  }
}

const key = (view) => `${view.step} ${view.place ?? 0} ${view.ticket ?? ""}`;

function show(view) {
  for (const name of ["head", "sentence", "print", "number", "small", "label", "name"]) part(name).textContent = view[name] ?? "";
  part("sentence").classList.toggle("long", view.sentence.length > 110);
  part("wait").dataset.at = view.at ?? "";
  ticket(view.ticket);
  next(view.next);
  main.dataset.step = view.step;
  main.dataset.place = view.place ?? 0;
  body.classList.toggle("dark", Boolean(view.dark));
  wait();
  if (shown !== key(view)) { shown = key(view); line(view); }
}

// wait says how long it is until the public number appears, as a sentence.
function wait() {
  const at = part("wait");
  const left = at.dataset.at ? Math.ceil((Date.parse(at.dataset.at) - Date.now() - ahead) / 1000) : 0;
  const minutes = Math.floor(left / 60), seconds = String(left % 60).padStart(2, "0");
  at.textContent = left > 0 ? `It appears in ${minutes}:${seconds}.` : "";
}

setInterval(wait, 250);
const stream = new EventSource(body.dataset.live);
stream.addEventListener("show", (event) => show(JSON.parse(event.data)));
// A browser gives up on an answer that is no stream: a key that was revoked, or
// a proxy's own page. The picture stays; a reload asks again.
stream.addEventListener("error", () => {
  if (stream.readyState === EventSource.CLOSED) setTimeout(() => location.reload(), 5000);
});
