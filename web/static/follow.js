// A viewer's page that goes along with the show: it says what the stage said,
// by the show's delay, and is loaded again when the result is known.
const line = document.querySelector("[data-live]");
const ahead = Date.parse(line.dataset.now) - Date.now(); // the server's clock against this one
const first = 5000, most = 80000; // milliseconds until the stream is opened anew, where a server is there but has none
let stream = null, timer = 0, patience = first, over = false;
const said = (words) => { line.hidden = false; line.textContent = words; };

function show(view) {
  if (view.released) {
    over = true;
    leave();
    if (line.dataset.ask === undefined) setTimeout(() => location.reload(), Math.random() * 2000); // not all in the same instant
    else ask();
  } else if (view.step !== "soon") said(`On the show: ${view.sentence}`);
}

function ask() {
  const a = document.createElement("a");
  a.href = location.pathname;
  a.textContent = "Do the check again, with the result";
  said("The draw is made. ");
  line.append(a, ".");
}

// follow opens the stream once there is something to follow, while the page is
// seen: a browser has six connections to one server, and hidden pages must not
// hold them. A timer runs 24 days at most; whoever waits longer comes back.
function follow() {
  clearTimeout(timer);
  if (over || stream || document.hidden) return;
  const wait = Date.parse(line.dataset.from) - Date.now() - ahead;
  if (wait > 0) timer = setTimeout(follow, Math.min(wait, 2 ** 31 - 1));
  else listen();
}

function listen() {
  stream = new EventSource(line.dataset.live);
  stream.addEventListener("open", () => { patience = first; });
  stream.addEventListener("show", (event) => show(JSON.parse(event.data)));
  stream.addEventListener("error", () => {
    if (stream.readyState !== EventSource.CLOSED) return; // the browser opens it anew by itself
    leave();
    timer = setTimeout(follow, patience * (1 + Math.random()));
    patience = Math.min(2 * patience, most);
  });
}

function leave() {
  clearTimeout(timer);
  stream?.close();
  stream = null;
}

document.addEventListener("visibilitychange", () => (document.hidden ? leave() : follow()));
follow();
