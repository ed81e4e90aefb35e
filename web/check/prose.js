// What the page says: sentences with the values inside, made from a report.

// el makes an element; children are elements, texts, or null for nothing.
function el(tag, attributes, ...children) {
  const e = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) e.setAttribute(name, value);
  e.append(...children.flat().filter((c) => c !== null && c !== undefined));
  return e;
}

const para = (...children) => el("p", null, ...children);
const hint = (...children) => el("p", { class: "hint" }, ...children);
const long = (text) => el("p", { class: "hash" }, text);
const counted = (n, one, many) => `${inWords(n)} ${n === 1 ? one : many}`;
const inWords = (n) => n.toLocaleString("en-US");
const upper = (s) => s.charAt(0).toUpperCase() + s.slice(1);
const curly = (s) => s.replace(/([A-Za-z0-9])'/g, "$1’");

// clock writes a time where the viewer is, as all pages write times: "Saturday 22
// August 2026, 5:05 pm EDT".
function clock(t) {
  const say = (options) => new Date(t * 1000).toLocaleString("en-US", options).replace(/\s([AP])M\b/, (_, half) => ` ${half.toLowerCase()}m`);
  const day = ["weekday", "day", "month", "year"].map((part) => say({ [part]: part === "day" || part === "year" ? "numeric" : "long" })).join(" ");
  return `${day}, ${say({ hour: "numeric", minute: "2-digit", timeZoneName: "short" })}`;
}

// span writes a length of time in its two largest parts.
function span(seconds) {
  const parts = [[86400, "day"], [3600, "hour"], [60, "minute"], [1, "second"]].map(([of, name], i, all) =>
    [Math.floor((i === 0 ? seconds : seconds % all[i - 1][0]) / of), name]);
  return parts.filter(([n]) => n > 0).slice(0, 2).map(([n, name]) => counted(n, name, `${name}s`)).join(" and ") || "0 seconds";
}

function ordinal(n) {
  const end = n % 100 >= 11 && n % 100 <= 13 ? "th" : ["th", "st", "nd", "rd"][n % 10] ?? "th";
  return inWords(n) + end;
}

// shareText cuts a share after three figures that count.
function shareText(share) {
  const digits = share.toFixed(20), first = digits.search(/[1-9]/);
  return first < 0 ? "0" : digits.slice(0, first + 3);
}

// ticketElement is a ticket in groups of four; the last one red where it won.
function ticketElement(ticket, won, large) {
  const groups = ticket.match(/.{4}/g).flatMap((g, i) => [i > 0 ? "-" : null, el("span", { class: i === 3 && won ? "part last" : "part" }, g)]);
  return large ? el("p", { class: "ticket" }, groups) : el("span", { class: "mono" }, groups);
}

// row is one row of the grid: a plain name, the file's own words small.
const row = (name, files, ...children) => el("div", { class: "row" },
  el("div", { class: "key" }, el("span", { class: "name" }, name), files ? el("span", { class: "hint mono" }, files) : null),
  el("div", { class: "val" }, ...children));

// weakWords say why a draw is weak: one sentence for each holder whose secret
// number did not arrive.
function weakWords(r) {
  const shut = r.withheld ?? [], of = (text) => plainWords(`weak: the secret of ${text} was withheld: `);
  return [...r.findings.filter((f) => f.text.startsWith("weak: ") && !f.text.includes("withheld: ")).map((f) => plainWords(f.text)), ...shut.map(of)];
}

// remarksOf are the remarks that are not told otherwise.
const remarksOf = (r) => r.findings.filter((f) => f.level === "remark" && !f.text.startsWith("weak: ") && !f.text.includes("its relays have the same"));
const faultsOf = (r) => r.findings.filter((f) => f.level === "FAULT");
const where = (f) => f.file === "" ? "" : f.line > 0 ? `${f.file}, line ${inWords(f.line)}` : f.file;

// plainNames say what a file is.
const plainNames = { opening: "the posted terms", rules: "the rules", roll: "the list of tickets", excluded: "the tickets left out", freeze: "what locks the list",
  record: "the draw’s result", outcome: "who gets the prize", cancelled: "why there is no draw" };

function plainName(file) {
  const name = plainNames[file.split(".")[0]];
  return name && file.endsWith(".txt") ? el("span", { class: "note" }, ` (${file} is ${name}${/\.[0-9]+\.txt$/.test(file) ? ", before it was changed" : ""}.)`) : null;
}

// setApart sets the hashes of a sentence in their own letters, and writes its
// times as the viewer's clock shows them where inClock asks for it.
function setApart(sentence, inClock) {
  return curly(sentence).split(/\b([0-9a-f]{64}|[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z)/).map((part) => {
    if (part.length === 64 && /^[0-9a-f]+$/.test(part)) return el("span", { class: "hash" }, part);
    return inClock && parseTime(part) !== null ? clock(parseTime(part)) : part;
  });
}

// oneFault says where the only fault is.
function oneFault(f) {
  const name = plainNames[f.file.split(".")[0]];
  if (!name) return "Something in these files does not fit. What it is stands below.";
  return `There is a fault in ${f.line > 0 ? `line ${inWords(f.line)} of ${name}` : name} (${f.file}). What is wrong stands below.`;
}

// headOf is the answer: a heading and a sentence.
function headOf(r) {
  const drawn = r.drawn !== undefined, winners = r.places.slice(0, r.opening?.winners), things = r.status === 0 ? weakWords(r).length + remarksOf(r).length : 0;
  const holds = things === 0 ? "" : things === 1 ? " There is one thing to know." : ` There are ${inWords(things)} things to know.`;
  if (r.status === 1) return ["The check finds a fault.", faultsOf(r).length === 1 ? oneFault(faultsOf(r)[0]) : `${inWords(faultsOf(r).length)} things in these files do not fit. They stand below, each with its file and line.`];
  if (r.status === 2) return ["The check could not be finished.", "What was checked fits. What could not be read or checked stands below."];
  if (r.cancelled) return ["This draw was called off.", `The files fit together; there will be no result.${holds}`];
  if (!drawn) return ["So far everything fits.", `The draw is not made yet. Your own device went through the files that there are.${holds}`];
  if (winners.length === 0) return ["Your own device redid the draw: there was nobody to draw.", `The list has no tickets, so nobody won.${holds}`];
  if (winners.length === 1) {
    return ["Your own device just redid the draw from the public files: same winner.",
      `Of ${counted(r.tickets, "ticket", "tickets")}, ${grouped(winners[0].ticket)} has the lowest number, ${shareText(winners[0].share)}. It is the ticket that the host drew.${holds}`];
  }
  return ["Your own device just redid the draw from the public files: same winners.",
    `Of ${counted(r.tickets, "ticket", "tickets")}, the ${winners.length} with the lowest numbers are those that the host drew.${holds}`];
}

// wrongElements say each fault, what was not checked and what there is to know.
// linked: the page has a link to the files.
function wrongElements(r, host, linked) {
  const out = [], faults = faultsOf(r), weak = r.status === 0 ? weakWords(r) : [], remarks = remarksOf(r);
  if (faults.length > 0) {
    out.push(el("div", { class: "faults" }, el("h2", null, "What does not fit"),
      el("ul", null, faults.map((f) => el("li", null, where(f) ? el("b", null, `${where(f)}: `) : null, setApart(f.text, false), ".", plainName(f.file)))),
      el("p", null, `What to do: keep a copy of the files as they are now${linked ? " (they are linked below)" : ""}. Ask ${host} about this sentence. Until it is explained, nothing is proven about who won.`)));
  }
  const open = remarks.filter((f) => f.text.startsWith("not checked: "));
  if (open.length > 0) {
    out.push(el("div", { class: "know" }, el("p", null, el("b", null, "Not checked:")),
      el("ul", null, open.map((f) => el("li", null, where(f) ? `${where(f)}: ` : "", setApart(f.text.slice("not checked: ".length), true), "."))),
      el("p", null, r.relays && r.relays.answered === 0
        ? "The public number comes from a network that nobody here runs; your device asked its public relays and none answered. Try again when you have a connection to them."
        : "Try again; if it stays so, the command below may tell more.")));
  }
  const rest = remarks.filter((f) => !open.includes(f));
  if (weak.length + rest.length > 0) {
    out.push(el("div", { class: "know" }, el("p", null, el("b", null, weak.length > 0 && r.status === 0 ? "To know. Such a draw is called weak." : "To know.")),
      el("ul", null, weak.map((w) => el("li", null, w)), rest.map(remarkElement))));
  }
  return out;
}

// remarkElement is a remark in plain words; one that has none, in the check's
// own, with its file.
function remarkElement(f) {
  const said = plainWords(f.text);
  if (said !== f.text) return el("li", null, setApart(said, true), said.endsWith(".") ? null : ".");
  return el("li", null, where(f) ? el("span", { class: "mono" }, `${where(f)}: `) : null, setApart(where(f) ? f.text : upper(f.text), true), ".");
}

// stepRows are what the device did, step by step.
function stepRows(r) {
  const o = r.opening, out = [], fits = r.status !== 1, seconds = o.roles.filter((role) => role !== "host");
  out.push(row("The posted terms", "opening.txt, rules.txt",
    para(`Signed by ${r.signer}. ${changedWords(o)} ${upper(counted(o.winners, "ticket wins", "tickets win"))}; ${counted(o.alternates, "is", "are")} next in line. `,
      `${o.roles.length === 1 ? "One secret number was" : `${o.roles.length} secret numbers were`} locked in advance (${listed(["the host’s", ...seconds.map((s) => `that of ${s}`)])}).`),
    long(r.key), hint("This key should also stand under the video.")));
  if (r.frozen !== undefined) {
    out.push(row("The list is locked", "freeze.txt, roll.txt, excluded.txt",
      para(`${upper(counted(r.tickets, "ticket", "tickets"))} in the draw${fits ? ", each once" : ""}; ${r.excluded === 0 ? "none left out" : `${counted(r.excluded, "more is", "more are")} left out, each with a reason`}. `,
        `Locked on ${clock(r.frozen)}${o.event > r.frozen ? `, ${span(o.event - r.frozen)} before the draw’s time` : ""}. Its fingerprint:`),
      long(r.freeze), hint("Compare it with the one that was read out, or stood under the video, before the draw.")));
  }
  if (r.drawn === undefined) return out;
  const said = (text) => r.findings.some((f) => f.text.startsWith(text)), shut = r.withheld ?? [];
  out.push(row("The secret numbers", "record.txt",
    para(said("each opened secret") ? `${shut.length > 0 ? "Those that arrived are" : "Each is"} the one that was locked in the posted terms.` : "They are not those that were locked in the posted terms, or could not be compared.",
      shut.length > 0 ? ` Not arrived: ${listed(shut)}.` : "")));
  if (o.beacon !== "") out.push(row("The public number", "beacon", para(beaconWords(r))));
  if (r.seed) {
    out.push(row("The draw number", "seed",
      para("It is made of all that, by SHA-256, a function that turns any text into a number which nobody can steer:"), long(r.seed),
      el("details", null, el("summary", null, "The text that it is made of"), el("pre", { class: "hash" }, r.seedText),
        hint("Paste it into any SHA-256 page, with the line end after the last line: the draw number must come out."))));
  }
  if (r.places.length > 0) out.push(row("The order", "place", para(`Each ticket’s own number is SHA-256 of the draw number and the ticket, on a scale from 0 to 1. The lowest wins.`), placesElement(r)));
  return out;
}

// changedWords say how often the posted terms were changed.
function changedWords(o) {
  if (o.revision === 1) return "No change of them is among the files.";
  return `Changed ${o.revision === 2 ? "once" : `${inWords(o.revision - 1)} times`} since they were first posted, ${o.revision === 2 ? "on" : "the last time on"} ${clock(o.revised)}.`;
}

function beaconWords(r) {
  const relays = r.relays;
  if (relays === undefined) return "It was not compared.";
  if (r.findings.some((f) => f.text.includes("its relays have the same"))) {
    return `Your device asked ${counted(relays.of, "public relay", "public relays")} of the network that makes it for number ${inWords(relays.round)}; ${relays.answered === 1 ? "the one that answered has" : `the ${relays.answered} that answered have`} the same. ` +
      "That its signature is true is checked by the host’s server and by the command below, not by this page.";
  }
  return relays.answered === 0 ? "Not checked: no relay answered your device." : "The network’s public relays do not say the same as these files.";
}

const shownPlaces = 20;

function placesElement(r) {
  const passed = new Map(r.passed.map((a) => [a.place, a.reason])), confirmed = new Set(r.confirmed.map((a) => a.place)), w = r.opening.winners;
  const became = (n) => passed.has(n) ? ` · skipped: ${passed.get(n).replace("-", " ")}` : confirmed.has(n) ? " · gets the prize" : n <= w ? " · wins" : "";
  const more = r.places.length - shownPlaces;
  return el("ol", { class: "bare places" }, r.places.slice(0, shownPlaces).map((q) => el("li", null, `${ordinal(q.place)}: `, ticketElement(q.ticket, q.place <= w, false), ` ${shareText(q.share)}${became(q.place)}`)),
    more > 0 ? el("li", null, `and ${inWords(more)} more, in record.txt`) : null);
}

// handRow is one line to try by hand.
const handRow = (name, seed, one) => row(name, "", para("Paste this line, without a line end, into any SHA-256 page. It is the draw number followed by the ticket:"),
  long(seed + one.ticket), para("This must come out:"), long(one.score));

// ownElements say where the viewer's own ticket stands.
function ownElements(r, one) {
  const name = ticketElement(one.ticket, one.rank <= r.opening.winners, true);
  if (r.frozen === undefined) return [name, para("The list is not locked yet. Once it is, this page says whether the ticket is on it.")];
  if (!one.found) return [name, el("p", { class: "fault" }, "This ticket stands on neither list. Check each letter and digit; if they are right and you hold a proof of entry, choose it below.")];
  if (!one.in) return [name, para(`This ticket is not in the draw: line ${inWords(one.line)} of excluded.txt gives the reason “${one.reason}”.`)];
  const out = [name, para(`It stands in line ${inWords(one.line)} of roll.txt:`), long(`${one.ticket} ${one.commitment}`)];
  if (one.rank) {
    out.push(para(`Its number is ${shareText(one.share)}. It came ${ordinal(one.rank)} of ${inWords(r.tickets)}.`));
  } else out.push(para("The draw is still to come."));
  return out;
}

// apartElements speak of papers that prove nothing about the files.
function apartElements(r, host) {
  const wrong = (f) => hint("In the check’s own words: ", el("span", { class: "mono" }, `${where(f)}: `), setApart(f.text, true), ".");
  const nothing = "It says nothing about the files, and changes nothing in the answer above. ";
  return r.apart.flatMap((f) => {
    if (f.kind === "receipt") {
      return [el("p", null, el("b", null, "This is not a proof of entry of this giveaway.")),
        para(`${nothing}What to do: open your private page, save your proof of entry from there, and choose that file here. If this one came from there and was not changed, keep it and ask ${host}.`), wrong(f)];
    }
    if (f.text.startsWith("not checked: ")) return [el("p", null, el("b", null, "One thing about your entry’s own text was not checked.")), wrong(f)];
    if (f.level === "FAULT") {
      return [el("p", null, el("b", null, "This is not an entry’s own text.")), para(`${nothing}What to do: save the text from your private page once more, and choose that file here.`), wrong(f)];
    }
    return [el("p", null, el("b", null, "This entry’s own text does not fit.")),
      para(`${nothing}Each change of an entry makes a new text and a new proof of entry. What to do: save both from your private page, and choose both here.`), wrong(f)];
  });
}

// findingsElement lists every single thing that was checked, in the files' own words.
function findingsElement(r) {
  const words = { ok: "fits", remark: "to know", FAULT: "wrong" };
  return el("details", null, el("summary", null, `All that was checked: ${counted(r.findings.length, "line", "lines")}, word for word as the command prints them`),
    el("ul", { class: "bare findings" }, r.findings.map((f) => el("li", null, el("b", { class: f.level === "FAULT" ? "red" : "" }, words[f.level]), " ",
      where(f) ? el("span", { class: "mono" }, `${where(f)}: `) : null, f.text))));
}
