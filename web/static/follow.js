// A viewer's page that goes along with the show: it says what the stage said,
// by the show's delay, and is loaded again when the result is known.
const line = document.querySelector("[data-live]");
const from = Date.parse(line.dataset.from) - Date.now();
const said = (words) => { line.hidden = false; line.textContent = words; };

function show(view, stream) {
  if (view.released) {
    stream.close();
    if (line.dataset.ask === undefined) setTimeout(() => location.reload(), Math.random() * 2000); // not all in the same instant
    else ask();
  } else if (view.step !== "soon") said(view.sentence);
}

function ask() {
  const a = document.createElement("a");
  a.href = location.pathname;
  a.textContent = "Do the check again, with the result";
  said("The draw is made. ");
  line.append(a, ".");
}

function listen() {
  const stream = new EventSource(line.dataset.live);
  stream.addEventListener("show", (event) => show(JSON.parse(event.data), stream));
  stream.addEventListener("error", () => {
    if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 5000 + Math.random() * 5000);
  });
}

// A timer holds 24 days at most; whoever waits longer loads the page again.
if (from < 2 ** 31) setTimeout(listen, Math.max(0, from));
