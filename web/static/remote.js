// The remote: presses without leaving the page, shows what the stage shows, and
// keeps the screen awake. The page works without this file.
const root = document.getElementById("remote"), path = root.dataset.path;
const part = (name) => root.querySelector(`[data-part="${name}"]`);
const ahead = Date.parse(root.dataset.now) - Date.now(); // the server's clock against this one
const rest = 400; // milliseconds after a move in which nothing is pressed: a tap that was meant once may come as two
const silent = "No answer from the server. Press again; nothing is done twice.";
let busy = false, told = "";

// fresh takes an earlier problem's words away when what the remote shows is
// another picture than the one they were about.
function fresh(view) {
  const of = [view.draw, view.version, view.sentence, view.at, view.button, view.coming].join(" ");
  if (told && told !== of) {
    part("problem").textContent = "";
    if (part("paste")) part("paste").hidden = true;
  }
  told = of;
}

function show(view) {
  if (view.version < Number(root.dataset.version)) return; // an answer that came late
  fresh(view);
  root.dataset.version = view.version;
  for (const input of root.querySelectorAll('input[name="version"]')) input.value = view.version;
  for (const name of ["sentence", "ticket", "print", "number", "coming", "heed"]) part(name).textContent = view[name] ?? "";
  part("where").textContent = "On the stage now" + (view.dark ? " (dark)" : "") + (view.held ? " (on hold)" : "");
  part("next").hidden = !view.coming;
  part("wait").dataset.at = view.at ?? "";
  part("words").replaceChildren(...(view.words ? [hush(), ...view.words.map(words)] : []));
  if (view.button) part("forward").textContent = view.held ? "On hold" : view.button;
  part("forward").form.hidden = !view.button;
  part("forward").disabled = Boolean(view.held);
  part("back").form.hidden = view.step === "soon";
  part("alternates").form.hidden = view.step !== "next";
  swap("hold", view.held, "go", "hold", "Let it go on", "Hold");
  swap("dark", view.dark, "light", "dark", "Light up", "Go dark");
  wait();
}

// hush stands above the words: they are worth nothing once they were said.
function hush() {
  const li = document.createElement("li");
  li.className = "note";
  li.textContent = "A winner writes these words in the chat. Don’t read them aloud.";
  return li;
}

function words(row) {
  const li = document.createElement("li"), b = document.createElement("b");
  b.textContent = row.words;
  li.append(`${row.label}: `, b);
  return li;
}

function swap(name, on, move, other, words, otherWords) {
  part(name).form.action = `${path}/${on ? move : other}`;
  part(name).textContent = on ? words : otherWords;
}

async function press(form) {
  if (busy) return;
  busy = true;
  root.dataset.busy = "";
  let idle = 0;
  try {
    const answer = await fetch(form.action, {
      method: "POST", headers: { Accept: "application/json" }, body: new URLSearchParams(new FormData(form)), signal: AbortSignal.timeout(30000),
    });
    if (answer.status === 404) { closed(); return; }
    const view = await answer.json();
    if (view.sentence) show(view);
    part("problem").textContent = view.problem ?? (view.sentence ? "" : "That did not work. Press again.");
    if (part("paste")) part("paste").hidden = !view.paste;
    if (answer.ok) idle = rest;
  } catch {
    part("problem").textContent = silent;
  } finally {
    setTimeout(() => { busy = false; delete root.dataset.busy; }, idle);
  }
}

root.addEventListener("submit", (event) => {
  if (!event.target.hasAttribute("data-move")) return;
  event.preventDefault();
  press(event.target);
});

// A pedal or a presenter sends Page Down and Page Up; holding one down counts once.
document.addEventListener("keydown", (event) => {
  const button = part({ PageDown: "forward", PageUp: "back" }[event.key] ?? "");
  if (!button || event.target.matches("textarea")) return;
  event.preventDefault();
  if (!event.repeat && !button.form.hidden && !button.disabled) press(button.form);
});

const wait = () => countdown(part("wait"), ahead);

// closed says that this address opens nothing any more.
function closed() {
  part("forward").form.hidden = true;
  root.querySelector(".also").hidden = true;
  part("link").textContent = part("heed").textContent = "";
  part("problem").textContent = "This remote was closed on the desk. Open the new one from there: “Stage and remote”.";
}

// again opens the stream anew, unless it is closed for good.
async function again() {
  try {
    if ((await fetch(path)).status === 404) { closed(); return; }
  } catch { /* no network just now */ }
  listen();
}

function listen() {
  const stream = new EventSource(`${path}/live`);
  stream.addEventListener("open", () => {
    part("link").textContent = "";
    if (part("problem").textContent === silent) part("problem").textContent = "";
  });
  stream.addEventListener("show", (event) => show(JSON.parse(event.data)));
  stream.addEventListener("error", () => {
    part("link").textContent = "No connection to the server just now. The stage keeps its picture.";
    if (stream.readyState === EventSource.CLOSED) setTimeout(again, 2000);
  });
}

// The screen stays awake while the page is seen.
async function awake() {
  try { if (document.visibilityState === "visible") await navigator.wakeLock?.request("screen"); } catch { /* the phone may refuse */ }
}
document.addEventListener("visibilitychange", awake);
awake();
wait();
setInterval(wait, 250);
listen();
