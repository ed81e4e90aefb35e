// Counts down to the public number, for the stage and the remote: a page's
// element with the time in data-at says how long it is until then, and then what
// stands in data-come, if anything. A classic script, so that both pages' modules
// can call it.
//
// countdown(element, ahead): ahead is the server's clock against this one, in
// milliseconds.
function countdown(element, ahead) {
  const at = element.dataset.at;
  const left = at ? Math.ceil((Date.parse(at) - Date.now() - ahead) / 1000) : 0;
  element.textContent = left > 0 ? `It appears in ${clock(left)}.` : (at && element.dataset.come) || "";
}

// clock writes seconds as 0:07, 12:34 or 1:02:03, and from two days on as days.
function clock(left) {
  if (left >= 2 * 86400) return `${Math.floor(left / 86400)} days`;
  const hours = Math.floor(left / 3600), minutes = Math.floor(left / 60) % 60, two = (n) => String(n).padStart(2, "0");
  return `${hours > 0 ? `${hours}:${two(minutes)}` : minutes}:${two(left % 60)}`;
}
