// A proof of entry ("receipt") and an entry's own text, against the list.
//
// A link can bring a paper to this page that its reader never chose. So a paper
// is evidence about the files only where the opening's key has signed it, for
// this draw. What is wrong with any other stands in report.apart, and changes
// neither findings nor status nor verdict. An entry's own text is signed by
// nobody: it fits a signed receipt, or the list, or it does not fit.

// readPapers opens the papers, before the lists are gone through for them.
function readPapers(c) {
  c.held = [];
  c.entries = [];
  for (const a of c.options.receipts) {
    try {
      const r = { ...readReceipt(a.name, openNote(a.name, a.data, c.verifier)), name: a.name };
      if (r.draw !== c.report.draw) throw new WrongForm(a.name, 2, `want a receipt of draw ${c.report.draw}`);
      c.held.push(r);
    } catch (e) { setAside(c, "receipt", e); }
  }
  for (const a of c.options.entries) {
    try { c.entries.push({ ...readEntry(a.name, a.data), name: a.name }); } catch (e) { setAside(c, "entry", e); }
  }
}

// setAside keeps, apart from the findings, what the command line would say.
function setAside(c, kind, e) {
  if (!(e instanceof WrongForm)) throw e;
  c.report.apart.push({ kind, level: "FAULT", file: e.file, line: e.line, text: e.message });
}

// ticketsOfPapers are those of signed receipts, and of entry texts that fit.
function ticketsOfPapers(c) {
  const fitting = c.entries.filter((e) => e.draw === c.report.draw && (fitsHeld(c, e) || fitsList(c, e)));
  return [...new Set([...c.held, ...fitting].map((a) => a.ticket))];
}

const fitsHeld = (c, e) => c.held.some((h) => h.ticket === e.ticket && h.commitment === e.commitment);

function fitsList(c, e) {
  const standing = c.lists?.found.get(e.ticket);
  return Boolean(standing?.in) && standing.commitment === e.commitment;
}

function checkReceipts(c) {
  const byTicket = new Map();
  for (const r of c.held) byTicket.set(r.ticket, [...(byTicket.get(r.ticket) ?? []), r]);
  for (const [ticket, list] of byTicket) checkHeld(c, ticket, list);
  checkEntries(c);
}

// checkHeld goes through the receipts of one ticket, the latest last.
function checkHeld(c, ticket, given) {
  const list = given.sort((a, b) => a.entered - b.entered).filter((h, i, all) => i === 0 || h.text !== all[i - 1].text);
  for (const [i, h] of list.entries()) {
    if (i > 0 && h.entered === list[i - 1].entered) c.fault(h.name, "two different receipts of one ticket with one time: proof of two faces");
    checkGiven(c, h);
  }
  const latest = list.at(-1), file = latest.name, standing = c.lists?.found.get(ticket);
  const sound = c.lists && !c.lists.roll.fault && !c.lists.excluded.fault;
  if (c.seen.get("freeze.txt") === "absent") c.remark(file, `ticket ${grouped(ticket)} is not yet in a list`);
  else if (!sound) return;
  else if (!standing) c.fault(file, `ticket ${grouped(ticket)} stands in neither list`);
  else if (!standing.in) c.ok(file, `ticket ${grouped(ticket)} stands in excluded.txt, line ${standing.line}: ${standing.reason}`);
  else if (standing.commitment === latest.commitment) c.ok(file, `ticket ${grouped(ticket)} stands in roll.txt, line ${standing.line}, with this commitment`);
  else if (list.length > 1) c.fault(file, `want commitment ${latest.commitment} in roll.txt, line ${standing.line}; there is ${standing.commitment}`);
  else c.remark(file, `in roll.txt, line ${standing.line}, with another commitment: changed after that, or a fault: ask for the later receipt and its entry text`);
}

// checkGiven compares a receipt with the opening that it names.
function checkGiven(c, h) {
  if (c.openings === null) return; // a kept one is missing, and has been reported
  const i = c.openings.findIndex((o) => sha256(o.text) === h.opening), o = c.openings[i], next = c.openings[i + 1];
  if (i < 0) { c.fault(h.name, `names opening ${h.opening}, which is not published`); return; }
  if (c.freeze && h.entered >= c.freeze.frozen) c.fault(h.name, `want entered before frozen, ${formatTime(c.freeze.frozen)}; this is ${formatTime(h.entered)}`);
  else if (next && h.entered >= next.revised) c.fault(h.name, `want entered before ${formatTime(next.revised)}, when the opening it names was revised`);
  else if (h.entered < o.opens || h.entered >= o.closes) {
    c.late = true;
    c.remark(h.name, `imported or changed outside the entry time: ${formatTime(h.entered)}`);
  }
}

// checkEntries compares entry texts with receipts and the roll.
function checkEntries(c) {
  const email = new Map();
  for (const e of c.entries) {
    const fits = fitsHeld(c, e), inRoll = fitsList(c, e), before = email.get(e.ticket);
    const apart = (text) => c.report.apart.push({ kind: "entry", level: "remark", file: e.name, line: 0, text });
    if (e.unsettled) apart("not checked: whether the address is in NFC: the tables of this browser and of the command line may differ for it");
    if (e.draw !== c.report.draw) apart(`is the entry of another draw, ${e.draw}`);
    else if (!fits && !inRoll) apart(`fits neither a receipt given here nor the list: its hash is ${e.commitment}`);
    else if (fits && before !== undefined && before !== e.email) {
      c.fault(e.name, `names another address than the other entry text of ticket ${grouped(e.ticket)}`);
    } else {
      const what = fits && inRoll ? "the receipt and the list" : fits ? "a receipt" : "the list";
      c.ok(e.name, `is the entry of ticket ${grouped(e.ticket)}: its hash is the commitment of ${what}`);
    }
    if (fits && before === undefined) email.set(e.ticket, e.email);
  }
}
