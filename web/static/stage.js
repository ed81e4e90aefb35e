// The stage: shows what its stream says. When the network is gone the picture
// stays, and the stream catches up by itself; the page is never loaded anew.
const body = document.body, main = document.querySelector("main"), canvas = document.querySelector("canvas");
const part = (name) => main.querySelector(`[data-part="${name}"]`);
const address = (name) => `${body.dataset.path}/${name}?key=${body.dataset.key}`;
const ahead = Date.parse(body.dataset.now) - Date.now(); // the server's clock against this one
const form = document.documentElement.classList.contains("tall") ? "tall" : "wide";
const coded = { locked: "list", next: "check" }; // the pictures with a code, and where it leads
let shown = "", playing = null, line = { of: "", scores: null };

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

function code(view) {
  const image = part("code"), to = coded[view.step];
  main.classList.toggle("coded", Boolean(to));
  image.hidden = !to;
  if (to) image.src = `${address("code.svg")}&to=${to}&draw=${view.draw}`;
}

const key = (view) => `${view.draw} ${view.step} ${view.place ?? 0} ${view.ticket ?? ""}`;

// numbers are those of all tickets. They are asked for until they come.
async function numbers(view) {
  if (line.of === view.draw) return line.scores;
  for (; shown === key(view); await new Promise((go) => setTimeout(go, 1000))) {
    try {
      const answer = await fetch(address("line.bin"));
      if (!answer.ok) continue;
      line = { of: view.draw, scores: Float64Array.from(new Uint32Array(await answer.arrayBuffer()), (n) => n / 2 ** 32) };
      return line.scores;
    } catch { /* the network is gone; the sentence stands alone */ }
  }
  return null;
}

// drawn plays the line once when it comes, and stands still at the places.
async function drawn(view) {
  playing?.stop();
  playing = null;
  canvas.hidden = true;
  if (view.step !== "line" && view.step !== "first") return;
  const scores = await numbers(view);
  if (shown !== key(view) || !scores?.length) return;
  canvas.hidden = false;
  sizeLine(canvas);
  if (view.step === "line") {
    playing = playLine(canvas, { scores, places: [], mine: null, form, shown: 1 }, 10);
  } else {
    const score = scores[view.place - 1];
    drawLine(canvas, { scores, places: [{ rank: view.place, score, label: view.share ?? "" }], mine: null, phase: 1, form });
  }
}

function show(view) {
  for (const name of ["head", "sentence", "print", "number", "small"]) part(name).textContent = view[name] ?? "";
  part("sentence").classList.toggle("long", view.sentence.length > (view.step === "first" ? 60 : 110));
  part("wait").dataset.at = view.at ?? "";
  part("sample").hidden = !view.sample;
  ticket(view.ticket);
  next(view.next);
  [main.dataset.draw, main.dataset.step, main.dataset.place] = [view.draw, view.step, view.place ?? 0];
  body.classList.toggle("dark", Boolean(view.dark));
  wait();
  if (shown === key(view)) return;
  shown = key(view);
  code(view);
  drawn(view);
}

const wait = () => countdown(part("wait"), ahead);

// again opens the stream anew, unless the page's key opens nothing any more: then
// nothing of an ended show stays in the picture.
async function again() {
  try {
    if ((await fetch(location.href)).status === 404) { body.classList.add("dark"); return; }
  } catch { /* no network just now */ }
  listen();
}

// listen opens the stream. A browser gives up on an answer that is no stream,
// such as a proxy's own page: then it is opened anew.
function listen() {
  const stream = new EventSource(address("live"));
  stream.addEventListener("show", (event) => show(JSON.parse(event.data)));
  stream.addEventListener("error", () => {
    if (stream.readyState === EventSource.CLOSED) setTimeout(again, 2000);
  });
}

wait();
setInterval(wait, 250);
listen();
