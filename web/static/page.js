// Niceties only: every page works without this file.

// A form under way is not sent twice. The button is switched off after the
// browser has taken its value, and works again when somebody comes back.
document.addEventListener("submit", (event) => {
  const buttons = [...event.target.querySelectorAll("button")].filter((b) => !b.disabled);
  const set = (off) => { for (const b of buttons) b.disabled = off; };
  setTimeout(() => { if (!event.defaultPrevented) set(true); }, 0);
  setTimeout(() => set(false), 10000);
  window.addEventListener("pageshow", () => set(false), { once: true });
});

// Beside the giveaway's time, the viewer's own, where it differs. On the desk
// only in the sentence on top: its rows are a log, in one zone.
const part = (date, options) => new Intl.DateTimeFormat(document.documentElement.lang, options).format(date);
const times = location.pathname.startsWith("/desk") ? "main .lead time[datetime]" : "main time[datetime]";
for (const time of document.querySelectorAll(times)) {
  const date = new Date(time.dateTime);
  if (Number.isNaN(date.getTime())) continue;
  const seconds = /:\d\d:/.test(time.textContent) && { second: "2-digit" };
  const clock = part(date, { hour: "numeric", minute: "2-digit", ...seconds }).replace(/\s/g, " ").toLowerCase();
  const day = part(date, { weekday: "long" });
  if (time.textContent.includes(`, ${clock} `)) continue;
  time.append(` (${clock}${time.textContent.includes(day) ? "" : " " + day} where you are)`);
}

// Buttons that copy a text; without script it can be selected by hand. The page
// stays where it is, and says beside the button that it is done.
for (const button of document.querySelectorAll("[data-copy]")) {
  const text = document.getElementById(button.dataset.copy), said = button.parentElement.querySelector("[role=status]");
  button.hidden = false;
  button.addEventListener("click", async () => {
    const copied = async () => {
      try { await navigator.clipboard.writeText(text.value); return true; } catch { /* the older way needs a selection */ }
      text.focus({ preventScroll: true });
      text.select();
      return document.execCommand("copy") && (button.focus({ preventScroll: true }), true);
    };
    said.textContent = await copied() ? "Copied." : "Selected: copy it with your keyboard.";
  });
}

// The line about a friend matters only to those who may enter and live where the
// parcel can't go.
const friend = document.querySelector("[data-friend]");
const live = document.querySelector("#f-live");
if (friend && live) {
  const home = friend.dataset.friend.split(" "), may = friend.dataset.may.split(" ");
  const tick = friend.querySelector("input");
  const look = () => { friend.hidden = !tick.checked && (live.value === "" || home.includes(live.value) || may[0] !== "" && !may.includes(live.value)); };
  live.addEventListener("change", look);
  look();
  // Whose friend receives it has it sent to the friend: the country follows the
  // tick, and goes back with it, unless another one was chosen meanwhile.
  const ship = document.querySelector("#f-ship");
  let put = "";
  tick.addEventListener("change", () => {
    if (!ship || ship.value !== (tick.checked ? "" : put)) return;
    ship.value = put = tick.checked ? home[0] : "";
    ship.dispatchEvent(new Event("change"));
  });
}

// A state is asked for only where the terms need it: the lists say of which countries.
for (const [country, list] of [["#f-live", "#f-state"], ["#f-ship", "#f-ship_state"]]) {
  const from = document.querySelector(country), state = document.querySelector(list);
  if (!live || !from || !state) continue;
  const groups = [...state.querySelectorAll("optgroup")].map((g) => g.label);
  const first = state.options[0], none = first.textContent;
  const look = () => {
    const place = from.selectedOptions[0];
    const needed = place.value === "" ? false : groups.includes(place.textContent.trim());
    state.parentElement.hidden = !needed && state.value === "" && !state.hasAttribute("aria-invalid");
    first.textContent = needed && (from === live || from.value !== live.value) ? "Choose …" : none;
  };
  from.addEventListener("change", look);
  if (from !== live) live.addEventListener("change", look);
  look();
}
