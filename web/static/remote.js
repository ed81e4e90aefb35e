// The remote: presses without leaving the page, shows what the stage shows, and
// keeps the screen awake. The page works without this file.
const root = document.getElementById("remote"), path = root.dataset.path;
const part = (name) => root.querySelector(`[data-part="${name}"]`);
let busy = false;

function show(view) {
  root.dataset.version = view.version;
  for (const input of root.querySelectorAll('input[name="version"]')) input.value = view.version;
  part("sentence").textContent = view.sentence;
  part("ticket").textContent = view.ticket ?? "";
  part("coming").textContent = view.coming ?? "";
  part("next").hidden = !view.coming;
  const button = part("button");
  if (view.button) button.textContent = view.button;
  button.form.hidden = !view.button;
  button.disabled = Boolean(view.held);
  root.querySelector(".note").textContent = "On the stage now" + (view.dark ? " (dark)" : "") + (view.held ? " (on hold)" : "");
  swap("hold", view.held, "go", "hold", "Let it go on", "Hold");
  swap("dark", view.dark, "light", "dark", "Light the stage", "Make the stage dark");
  root.querySelector('[data-at="next"]').hidden = view.step !== "next";
}

function swap(name, on, move, other, words, otherWords) {
  const form = root.querySelector(`[data-move="${name}"]`);
  form.action = `${path}/${on ? move : other}`;
  form.querySelector("button").textContent = on ? words : otherWords;
}

async function press(form) {
  if (busy) return;
  busy = true;
  try {
    const answer = await fetch(form.action, { method: "POST", headers: { Accept: "application/json" }, body: new URLSearchParams(new FormData(form)) });
    const view = await answer.json();
    part("problem").textContent = view.problem ?? (view.sentence ? "" : "That did not work. Press again.");
    const paste = part("paste");
    if (paste) paste.hidden = !view.paste;
    if (view.sentence) show(view);
  } catch {
    part("problem").textContent = "No answer from the server. Press again; nothing is done twice.";
  } finally {
    busy = false;
  }
}

root.addEventListener("submit", (event) => {
  if (!event.target.hasAttribute("data-move")) return;
  event.preventDefault();
  press(event.target);
});

// A pedal or a presenter sends Page Down; holding it down counts once.
document.addEventListener("keydown", (event) => {
  const form = part("button").form;
  if (event.key !== "PageDown" || event.repeat || form.hidden || part("button").disabled) return;
  event.preventDefault();
  press(form);
});

const stream = new EventSource(`${path}/live`);
stream.addEventListener("open", () => { part("link").textContent = ""; });
stream.addEventListener("show", (event) => show(JSON.parse(event.data)));
stream.addEventListener("error", () => {
  part("link").textContent = "No connection to the server just now. The stage keeps its picture.";
  if (stream.readyState === EventSource.CLOSED) setTimeout(() => location.reload(), 5000);
});

// The screen stays awake while the page is seen.
async function awake() {
  try { if (document.visibilityState === "visible") await navigator.wakeLock?.request("screen"); } catch { /* the phone may refuse */ }
}
document.addEventListener("visibilitychange", awake);
awake();
