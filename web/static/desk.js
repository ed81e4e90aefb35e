// The form in which a giveaway is made: it keeps itself a second after each
// change, proposes what follows from the rest, and says times and sizes back.
// The page works without this file; its buttons then keep the form.
const form = document.querySelector("form[data-keep]");
if (form) {
  const status = document.querySelector("#kept");
  const field = (name) => form.elements.namedItem(name);
  let timer = 0, changed = false, saving = null, stopped = false, leaving = false;

  const body = () => new URLSearchParams(new FormData(form));
  const say = (text) => {
    status.classList.toggle("trouble", !text.startsWith("Kept"));
    if (status.textContent !== text) status.textContent = text;
  };

  const taken = () => {
    stopped = true;
    say("This was changed in another window: ");
    const load = document.createElement("a");
    load.href = location.pathname;
    load.textContent = "load it";
    status.append(load, ". What you type here is not kept any more.");
  };

  const signedOut = () => {
    changed = true;
    say("Not kept: you are signed out. Sign in again in another window, then go on here.");
    timer = setTimeout(() => { timer = 0; save(); }, 5000);
  };

  const show = (answer) => {
    form.elements.version.value = answer.version;
    say(answer.kept);
    for (const [name, text] of Object.entries(answer.said ?? {})) {
      const place = document.querySelector(`[data-said="${name}"]`);
      if (place && place.textContent !== text) place.textContent = text;
    }
    for (const name of times) ask(name, answer.asks?.[name]);
    for (const [name, text] of Object.entries(answer.wrong ?? {})) wrong(field(name), text);
    if (answer.lock) document.querySelector("#after details").open = true;
  };

  // A list that can't be read says so once it is left.
  const wrong = (input, text) => {
    if (!input || input === document.activeElement || document.getElementById(`x-${input.name}`)) return;
    input.setAttribute("aria-invalid", "true");
    input.setAttribute("aria-describedby", `x-${input.name}`);
    input.after(element("p", { className: "fault", id: `x-${input.name}`, textContent: text }));
  };

  // What has to be asked about a time that comes twice or never stands below it
  // as long as it fits. One that is answered folds once it is left.
  const times = ["opens", "closes", "event"];
  const element = (tag, props, ...inside) => {
    const e = Object.assign(document.createElement(tag), props);
    e.append(...inside);
    return e;
  };
  const due = {};
  const ask = (name, question) => {
    const place = document.getElementById(`s-${name}`), old = place.parentElement.querySelector("[data-ask]");
    due[name] = question;
    if (question && (old?.contains(document.activeElement) || old?.dataset.ask === JSON.stringify(question))) return;
    old?.remove();
    if (!question) return;
    const set = element("fieldset", { className: "asked" }, element("legend", { textContent: question.question }),
      ...question.options.map((o) => element("label", { className: "choice" },
        element("input", { type: "radio", name: question.name, value: o.value, checked: o.chosen }), ` ${o.text}`)));
    const answered = question.options.some((o) => o.chosen);
    const all = answered ? element("details", { className: "asked" }, element("summary", { textContent: "Choose again which one is meant" }), set) : set;
    all.dataset.ask = JSON.stringify(question);
    place.after(all);
  };
  form.addEventListener("focusout", ({ target }) => {
    const name = target.name?.match(/^(opens|closes|event)_(which|take)$/)?.[1];
    if (name && name in due) setTimeout(() => ask(name, due[name]));
  });
  // A question fits one time in one zone.
  form.addEventListener("input", ({ target }) => {
    const all = target.name === "zone";
    for (const name of times) if (all || target.name === name || target.name === `${name}_zone`) ask(name);
    const answered = target.name.match(/^(opens|closes|event)_(which|take)$/);
    if (answered) clear(field(answered[1]));
  });

  // One save at a time: each is made from the version that the last one gave.
  const save = async () => {
    clearTimeout(timer);
    if (saving || !changed || stopped) return;
    changed = false;
    try {
      saving = fetch(form.dataset.keep, { method: "POST", body: body(), credentials: "same-origin" });
      const response = await saving;
      if (response.status === 409) taken();
      else if (response.status === 401) signedOut();
      else if (response.ok && response.headers.get("Content-Type")?.startsWith("application/json")) show(await response.json());
      else throw new Error(response.status);
    } catch {
      changed = true;
      say("Not kept: no answer came. It is tried again in a moment.");
      timer = setTimeout(save, 5000);
    } finally {
      saving = null;
    }
    if (changed && !stopped && !timer) timer = setTimeout(save, 1000);
  };

  const touch = () => {
    changed = true;
    clearTimeout(timer);
    timer = setTimeout(() => { timer = 0; save(); }, 1000);
  };

  // What was wrong with a field is no longer known once it is changed.
  const clear = (target) => {
    if (target.name === "disclosure_kind") document.getElementById("x-disclosure_kind")?.remove();
    if (target.getAttribute("aria-invalid") !== "true") return;
    target.removeAttribute("aria-invalid");
    document.getElementById(`x-${target.name}`)?.remove();
  };
  form.addEventListener("input", ({ target }) => clear(target));

  // What is still needed is told as long as it is.
  const needed = document.getElementById("needed"), links = [...needed?.querySelectorAll("a") ?? []];
  const empty = (link) => {
    const found = field(link.hash.slice(3)); // "#f-prize"
    return found !== null && found.value === "";
  };
  const need = () => {
    const left = links.filter(empty);
    needed.hidden = left.length === 0;
    needed.replaceChildren("Still needed: ", ...left.flatMap((link, i) => (i ? [", ", link] : [link])), ".");
  };
  if (needed) form.addEventListener("input", need);

  // What is proposed follows the fields that it comes from until it is edited.
  const propose = (name, make, ...from) => {
    const to = field(name), last = field(name + "_proposed");
    if (!to || !last) return;
    const look = () => {
      if (to.value.trim() !== last.value) return;
      const text = make(from.map((f) => field(f).value.trim()).find((value) => value !== "") ?? "");
      if (text !== "" || last.value !== "") to.value = last.value = text;
    };
    for (const f of from) field(f).addEventListener("input", look);
    look();
  };
  // A short name of four words and 24 letters at most, without those that say
  // nothing, as the server makes it.
  const fillers = form.dataset.fillers.split(" ");
  const short = (text) => {
    const words = text.toLowerCase().normalize("NFD").replace(/[\u0300-\u036f'’]/g, "").match(/[a-z0-9]+/g) ?? [];
    let name = "", n = 0;
    for (const word of words.filter((w) => !fillers.includes(w))) {
      const longer = name === "" ? word : `${name}-${word}`;
      if (++n > 4 || longer.length > 24) break;
      name = longer;
    }
    if (name !== "") return name;
    const all = words.join("-"), end = all.lastIndexOf("-", 24);
    return all.length <= 24 ? all : all.slice(0, end > 0 ? end : 24);
  };
  // The name comes from the heading, and that, where it is empty, from the prize.
  propose("draw", short, "title", "prize");
  // The sentences to choose from name whom the fields above name.
  const begin = (verb) => `${field("sponsor").value.trim() || "The sponsor"} gives the prize, and ${verb} ${field("channel").value.trim() || "the channel"} `;
  const names = () => {
    for (const place of form.querySelectorAll("[data-names]")) place.textContent = begin(place.dataset.names);
    form.querySelector("[data-staff]").textContent = field("sponsor").value.trim() || "the sponsor";
  };
  const sentence = () => {
    const more = field("disclosure_more").value.trim().replace(/\.$/, "").replace(/^(A|An|The|One|Two|Three) /, (word) => word.toLowerCase());
    form.querySelector("[data-said=disclosure]").textContent = more === "" ? "" : `It says: “${begin("also gives")}${more}.”`;
  };
  for (const name of ["sponsor", "channel", "disclosure_more"]) field(name).addEventListener("input", () => { names(); sentence(); });

  // The browser knows in which zone the laptop is. One that says UTC as a rule
  // doesn't want to say it, so it is asked. What was typed is left alone.
  const zone = field("zone"), here = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";
  if (zone.value === "" && here.includes("/") && !here.startsWith("Etc/")) {
    zone.value = here;
    clear(zone);
    document.getElementById("h-zone").textContent = "Taken from this device. Change it if your show goes by other clocks.";
  }

  // A row more, whenever somebody writes into the last one.
  const number = /^(run|q)_(\d+)_/;
  const more = (row) => {
    const list = [...row.parentElement.querySelectorAll(":scope > [data-row]")];
    const [, name, n] = row.querySelector("[name]").name.match(number);
    const most = name === "q" ? 10 : 40;
    if (row !== list.at(-1) || Number(n) + 1 >= most) return;
    const next = row.cloneNode(true);
    delete next.dataset.copied;
    const renumber = (text) => text.replace(new RegExp(`${name}_${n}_`, "g"), `${name}_${Number(n) + 1}_`);
    for (const e of next.querySelectorAll("[name], [id], [for]")) {
      for (const a of ["name", "id", "for"]) if (e.hasAttribute(a)) e.setAttribute(a, renumber(e.getAttribute(a)));
      e.removeAttribute("aria-invalid");
      e.removeAttribute("aria-describedby");
      if (e.matches("input[type=text], textarea")) e.value = "";
      if (e.matches("input[type=checkbox]")) e.checked = false;
    }
    for (const e of next.querySelectorAll(".fault, input[type=hidden]")) e.remove();
    const legend = next.querySelector("legend");
    legend.textContent = legend.textContent.replace(/\d+$/, Number(n) + 2);
    for (const e of next.querySelectorAll("select")) e.value = row.querySelector(`[name="${e.name.replace(`_${Number(n) + 1}_`, `_${n}_`)}"]`).value;
    row.after(next);
  };
  // A row of sizes takes the widths of the row above while nobody writes
  // others, if both are for men or both for women.
  const widths = (row, target) => {
    const part = (of, name) => of?.querySelector(`[name^=run_][name$=_${name}]`);
    const to = part(row, "widths"), above = row.previousElementSibling;
    if (target === to) delete row.dataset.copied;
    if (!to || target === to || (to.value !== "" && to.value !== row.dataset.copied)) return;
    const same = part(above, "system")?.value === part(row, "system").value && part(row, "from").value !== "";
    to.value = row.dataset.copied = same ? part(above, "widths").value : "";
  };
  form.addEventListener("input", (event) => {
    const row = event.target.closest("[data-row]");
    if (row) widths(row, event.target);
    if (row && event.target.value !== "") more(row);
  });

  // A link to a field leads into it, also where it is folded.
  const into = () => {
    const to = location.hash.startsWith("#f-") && document.getElementById(location.hash.slice(1));
    for (let e = to; e; e = e.parentElement) if (e.matches("details")) e.open = true;
    if (to) to.focus();
  };
  addEventListener("hashchange", into);
  into();

  form.addEventListener("input", touch);
  form.addEventListener("change", touch);
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "hidden") save(); });
  // Whoever closes the lid keeps what they typed. The answer is never seen, so
  // a page that comes back from the browser's memory asks anew.
  addEventListener("pagehide", () => {
    if (!changed || stopped || leaving || saving) return;
    fetch(form.dataset.keep, { method: "POST", body: body(), credentials: "same-origin", keepalive: true });
    changed = false;
  });
  addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });

  // A button waits for a save under way: it is made from that one's version.
  form.addEventListener("submit", (event) => {
    clearTimeout(timer);
    leaving = true;
    if (!saving) return;
    event.preventDefault();
    const button = event.submitter;
    Promise.resolve(saving).catch(() => {}).then(() => setTimeout(() => form.requestSubmit(button ?? undefined), 50));
  });
}
