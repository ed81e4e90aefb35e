// A page that looks again by itself: the part that changes is taken anew every
// few seconds, unless somebody is about to press something in it. Without this
// file a reload does the same.
const every = 10000;

async function look() {
  const part = document.querySelector("[data-fresh]");
  if (document.hidden || part.contains(document.activeElement)) return;
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return;
    const next = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-fresh]");
    if (next && next.innerHTML !== part.innerHTML && !part.contains(document.activeElement)) part.replaceWith(document.adoptNode(next));
  } catch { /* no network just now: the next look tries again */ }
}

setInterval(look, every);
document.addEventListener("visibilitychange", look);
