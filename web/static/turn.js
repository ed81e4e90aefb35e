// A page of the desk that says what comes next: at that moment it is loaded
// again, unless something was typed or is about to be copied, and until then
// it says how long it still is. Without this file a reload does the same.

// leftWords writes seconds as the server does: rounded down to what is surely left.
export function leftWords(left) {
  const count = (n, one) => `${n.toLocaleString("en-US")} ${one}${n === 1 ? "" : "s"}`;
  if (left >= 48 * 3600) return count(Math.floor(left / 86400), "day");
  if (left >= 2 * 3600) return count(Math.floor(left / 3600), "hour");
  return left >= 60 ? count(Math.floor(left / 60), "minute") : "less than a minute";
}

const turn = document.querySelector("[data-turn]");
if (turn) {
  const ahead = Date.parse(turn.dataset.now) - Date.now(), at = Date.parse(turn.dataset.turn);
  let typed = false;
  addEventListener("input", () => { typed = true; });

  const look = () => {
    const here = Date.now() + ahead;
    for (const e of document.querySelectorAll("[data-left]")) {
      const words = leftWords((Date.parse(e.dataset.left) - here) / 1000);
      if (e.textContent !== words) e.textContent = words;
    }
    const busy = typed || document.hidden || document.activeElement?.matches("input, select, textarea");
    if (here >= at + 1000 && !busy) location.reload();
  };
  setInterval(look, 1000);
  document.addEventListener("visibilitychange", look);
}
