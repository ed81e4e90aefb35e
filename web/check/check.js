// The check of a publication. Its steps are those of the protocol's page
// "Checking"; its findings are, word for word, those of the command line.

const maxRevisions = 1000;

// checkPublication answers a report: findings, status (0 fits, 1 a fault, 2 not
// read or not checked), verdict, stage, and so on. options: {key, freeze, host,
// now, receipts, entries, find, relays, progress}; receipts and entries are
// [{name, data}], find are tickets (where there are none, those of the papers
// are found), now is in seconds. report.apart is what is to be said of papers
// that prove nothing, see receipts.js.
async function checkPublication(source, options = {}) {
  const c = new Check(source, options);
  if (await readOpeningFile(c)) {
    for (const step of [readPapers, checkOpenings, checkGroups, checkRules, checkFreeze, checkLists, checkRecord, checkOutcomes,
      checkCancelled, checkStrays, checkWeak, checkOptions, checkReceipts]) {
      await step(c);
    }
  }
  c.conclude();
  c.report.statement = c.opening && c.report.status !== 2 ? statementOf(c) : [];
  source.done?.();
  return c.report;
}

// A Check holds what was read so far, and the findings.
class Check {
  constructor(source, options) {
    this.source = source;
    this.options = { receipts: [], entries: [], find: [], relays: publicRelays, progress: () => {}, ...options };
    this.report = { findings: [], status: 0, verdict: "", weak: false, stage: "", draw: "", signer: "", key: "",
      tickets: 0, excluded: 0, freeze: "", seed: "", places: [], found: [], apart: [], passed: [], confirmed: [], line: null };
    this.seen = new Map(); // name → "present", "absent" or "unknown"
    this.texts = new Map();
    this.openings = null; // by revision, the last one is opening.txt; null where one is missing
    this.unknown = false; // something could not be read or checked
    this.late = false; // a receipt was given outside the entry time
    this.tooSoon = 0;
    this.oneStep = 0;
  }

  // Findings

  add(level, file, line, text) { this.report.findings.push({ level, file, line, text }); }
  ok(file, text) { this.add("ok", file, 0, text); }
  remark(file, text) { this.add("remark", file, 0, text); }
  fault(file, text) { this.add("FAULT", file, 0, text); }
  faultAt(file, key, text) { this.add("FAULT", file, lineOf(this.texts.get(file), key), text); }
  unread(file, text) { this.unknown = true; this.remark(file, `not checked: ${text}`); }
  faults() { return this.report.findings.filter((f) => f.level === "FAULT").length; }

  // wrong reports what a rule or a reader threw.
  wrong(file, error) {
    if (error instanceof WrongForm) this.add("FAULT", error.file, error.line, error.message);
    else if (error instanceof WrongLine) this.faultAt(file, error.key, error.message);
    else throw error;
  }

  // lost says, once for each file, that it can't be read.
  lost(file, error) {
    if (this.seen.get(file) !== "unknown") this.unread(file, error.message);
    this.seen.set(file, "unknown");
  }

  // Reading

  async look(file) {
    if (!this.seen.has(file)) {
      try { this.seen.set(file, await this.source.has(file) ? "present" : "absent"); } catch (e) { this.lost(file, e); }
    }
    return this.seen.get(file);
  }

  // read answers a whole small file, null where it is absent or unknown.
  async read(file) {
    if ((this.seen.get(file) ?? "present") !== "present") return null;
    try {
      const data = await this.source.small(file, maxNote + 1);
      this.seen.set(file, data === null ? "absent" : "present");
      return data;
    } catch (e) {
      this.lost(file, e);
      return null;
    }
  }

  // readNote reads and verifies one note. The form comes before the signature:
  // in a note that was tampered with, the broken line says more than the
  // signature that does not fit.
  async readNote(file, read) {
    const data = await this.read(file);
    if (data === null) return null;
    try {
      const text = noteText(file, data), value = read(file, text);
      openNote(file, data, this.verifier);
      this.texts.set(file, text);
      return value;
    } catch (e) {
      this.wrong(file, e);
      return null;
    }
  }

  // chained: a note belongs to this draw and names the text before it.
  chained(file, note, key, before) {
    if (note.draw !== this.report.draw) this.faultAt(file, "draw", `want draw ${this.report.draw}, as the opening says`);
    const text = this.texts.get(before);
    if (text !== undefined && note[key] !== sha256(text)) this.faultAt(file, key, `want ${key} ${sha256(text)}, the hash of ${before}`);
  }

  // conclude turns the findings into status and verdict. A fault always wins.
  conclude() {
    const r = this.report;
    if (this.faults() > 0) { r.status = 1; r.verdict = "not valid"; return; }
    if (this.unknown) { r.status = 2; return; }
    r.verdict = (this.cancelled ? "cancelled" : this.record ? "valid" : "valid so far") + (r.weak ? ", weak" : "");
  }
}
