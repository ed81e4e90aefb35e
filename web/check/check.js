// The check of a publication. Its steps are those of the protocol's page
// "Checking"; its findings are, word for word, those of the command line.

const maxRevisions = 1000;
const mostAlike = 20; // remarks of one kind that are given one by one
const groups = [["opening.txt", "rules.txt"], ["roll.txt", "excluded.txt", "freeze.txt"], ["record.txt"], ["outcome.txt"]];
const stages = ["open", "frozen", "drawn", "outcome"];
const stems = ["opening", "rules", "roll", "excluded", "freeze", "record", "outcome", "cancelled"];

// checkPublication answers a report: findings, status (0 fits, 1 a fault, 2 not
// read or not checked), verdict, stage, and so on. options: {key, freeze, host,
// now, receipts, entries, find, relays, progress}; receipts and entries are
// [{name, data}], find are tickets, now is in seconds.
async function checkPublication(source, options = {}) {
  const c = new Check(source, options);
  if (await c.readOpening()) {
    for (const step of [c.checkOpenings, c.checkGroups, c.checkRules, c.checkFreeze, c.checkLists, c.checkRecord, c.checkOutcomes,
      c.checkCancelled, c.checkStrays, c.checkWeak, c.checkOptions, c.checkReceipts]) {
      await step.call(c);
    }
  }
  c.conclude();
  c.report.statement = c.opening && c.report.status !== 2 ? statementOf(c) : [];
  source.done?.();
  return c.report;
}

class Check {
  constructor(source, options) {
    this.source = source;
    this.options = { receipts: [], entries: [], find: [], relays: publicRelays, progress: () => {}, ...options };
    this.report = { findings: [], status: 0, verdict: "", weak: false, stage: "", draw: "", signer: "", key: "",
      tickets: 0, excluded: 0, freeze: "", seed: "", places: [], found: [], passed: [], confirmed: [], line: null };
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

  // Step 1: opening.txt. Its first line decides whether this is a publication
  // at all, its key is the one that all notes are checked with.
  async readOpening() {
    const file = "opening.txt", data = await this.read(file);
    if (data === null) {
      if (this.seen.get(file) === "absent") this.unread(file, "there is none: this is not a publication");
      return false;
    }
    const why = notOpening(data);
    if (why !== "") { this.unread(file, why); return false; }
    try {
      const text = noteText(file, data), o = readOpening(file, text);
      this.verifier = parseVerifier(o.signer);
      openNote(file, data, this.verifier);
      this.opening = o;
      this.texts.set(file, text);
    } catch (e) {
      this.wrong(file, e);
      return false;
    }
    const o = this.opening;
    Object.assign(this.report, { draw: o.draw, stage: "open", signer: this.verifier.name, key: o.signer,
      opening: { winners: o.winners, alternates: o.alternates, event: o.event, opens: o.opens, closes: o.closes, beacon: o.beacon, roles: o.seals.map((s) => s.role) } });
    this.ok(file, `signed by ${this.verifier.name}; draw ${o.draw}, revision ${o.revision}`);
    return true;
  }

  // Step 8 for the terms: the openings before this one.
  async checkOpenings() {
    const last = this.opening, all = [];
    for (let n = 1; n < last.revision && n <= maxRevisions; n++) {
      const o = await this.keptOpening(keptName("opening.txt", n), n);
      if (o === null) return;
      all.push(o);
    }
    if (last.revision <= maxRevisions) all.push(last);
    for (let i = 0; i + 1 < all.length; i++) this.checkRevised(all[i], all[i + 1]);
    if (last.revision > maxRevisions) this.unread("opening.txt", `more revisions than this tool reads: ${last.revision}, and it reads ${maxRevisions}`);
    else this.openings = all;
  }

  async keptOpening(file, n) {
    const o = await this.readNote(file, readOpening);
    if (await this.look(file) === "absent") this.fault(file, `want the opening of revision ${n} kept here`);
    else if (o !== null && o.revision !== n) { this.add("FAULT", file, 3, `want revision ${n}`); return null; }
    return o;
  }

  checkRevised(before, after) {
    const file = after.revision < this.opening.revision ? keptName("opening.txt", after.revision) : "opening.txt";
    try { checkRevision(before, after); } catch (e) { this.wrong(file, e); return; }
    let text = `revised ${formatTime(after.revised)}: ${changesOf(before, after).map(([key, was, is]) => `${key} from ${was} to ${is}`).join(", ")}`;
    if (after.revised >= before.event) text += "; moved after the event: a result may have been tried and dropped";
    if (after.rules !== before.rules && after.revised >= before.closes) text += "; rules changed after entries closed";
    this.remark(file, text);
  }

  // Each group of files is whole or absent, none without the one before.
  async checkGroups() {
    let before = "";
    for (const [i, group] of groups.entries()) {
      const there = [], missing = [];
      for (const file of group) {
        const seen = await this.look(file);
        if (seen === "present") there.push(file);
        if (seen === "absent") missing.push(file);
      }
      const lost = there.length + missing.length < group.length;
      if (there.length === 0 && before === "" && !lost) before = missing[0];
      else if (there.length > 0 && before !== "") this.fault(there[0], `stands without the files before it: ${before} is missing`);
      else if (there.length > 0 && missing.length > 0) {
        this.fault(missing[0], `is missing beside ${there[0]}`);
        before = missing[0];
      } else if (there.length > 0 && !lost) this.report.stage = stages[i];
    }
  }

  // Step 2 for the rules, those kept included.
  async checkRules() {
    if (await this.look("rules.txt") === "present") await this.rulesHash("rules.txt", this.opening.rules);
    const all = this.openings ?? [];
    for (let i = 0; i + 1 < all.length; i++) {
      if (all[i].rules !== all[i + 1].rules) await this.rulesHash(keptName("rules.txt", i + 1), all[i].rules);
    }
  }

  async rulesHash(file, want) {
    try {
      const next = await this.source.stream(file);
      if (next === null) { this.fault(file, "want the rules that the opening of that revision names, kept here"); return; }
      const hash = new Sha256();
      for (let bytes; (bytes = await next()) !== null;) hash.update(bytes);
      const got = hash.hex();
      if (got !== want) this.fault(file, `want hash ${want}, as the opening says; this is ${got}`);
      else this.ok(file, "is the text whose hash the opening names");
    } catch (e) { this.lost(file, e); }
  }

  // chained: a note belongs to this draw and names the text before it.
  chained(file, note, key, before) {
    if (note.draw !== this.report.draw) this.faultAt(file, "draw", `want draw ${this.report.draw}, as the opening says`);
    const text = this.texts.get(before);
    if (text !== undefined && note[key] !== sha256(text)) this.faultAt(file, key, `want ${key} ${sha256(text)}, the hash of ${before}`);
  }

  // Steps 1, 2, 5 and 7 for freeze.txt.
  async checkFreeze() {
    const file = "freeze.txt", o = this.opening, f = await this.readNote(file, readFreeze);
    if (f === null) return;
    this.freeze = f;
    this.freezeHash = sha256(f.text);
    Object.assign(this.report, { tickets: f.roll.count, excluded: f.excluded.count, freeze: this.freezeHash, frozen: f.frozen });
    const faults = this.faults();
    this.chained(file, f, "opening", "opening.txt");
    if (f.frozen < o.closes) this.faultAt(file, "frozen", `want frozen not before closes, ${formatTime(o.closes)}`);
    else if (f.frozen >= o.event) this.faultAt(file, "frozen", `want frozen before the event, ${formatTime(o.event)}`);
    else if (o.revision > 1 && o.revised >= f.frozen) this.faultAt(file, "frozen", `want frozen after revised, ${formatTime(o.revised)}`);
    this.checkRound();
    if (this.faults() === faults) this.ok(file, `signed; frozen ${formatTime(f.frozen)}, hash ${this.freezeHash}`);
    const left = o.event - f.frozen;
    if (left > 0 && left < 600) this.remark(file, `frozen ${formatSpan(left)} before the event: hardly anybody can have seen it in time`);
  }

  checkRound() {
    const file = "freeze.txt", chain = this.opening.beacon, round = this.freeze.round;
    if (chain === "" && round !== 0) this.faultAt(file, "round", "want no round: the opening names no beacon");
    if (chain !== "" && round === 0) this.fault(file, "want the beacon's round: the opening names a beacon");
    if (chain === "" || round === 0) return;
    const want = roundAt(this.opening.event);
    if (chain !== quicknet.hash) this.unread(file, `beacon not checked: chain ${chain} is not known here`);
    else if (round !== want) this.faultAt(file, "round", `want round ${want}, the first whose time is not before the event`);
  }

  // Step 3, and the scores of step 6, in one pass.
  async checkLists() {
    this.lists = null;
    if (!this.freeze || await this.look("roll.txt") !== "present" || await this.look("excluded.txt") !== "present") return;
    const { roll, excluded } = this.freeze, seed = await this.peekSeed();
    const lists = new Lists({ seed, places: this.opening.winners + this.opening.alternates, wanted: this.wantedTickets(),
      progress: (n) => this.options.progress(n, roll.count) });
    try {
      const rollBytes = await this.source.stream("roll.txt"), excludedBytes = await this.source.stream("excluded.txt");
      await lists.run(firstBytes(rollBytes, (roll.count + 1) * rollLine), firstLines(excludedBytes, excluded.count + 1));
    } catch (e) {
      this.unread("", e.message);
      return;
    }
    this.lists = lists;
    this.checkList("roll.txt", lists.roll, roll);
    this.checkList("excluded.txt", lists.excluded, excluded);
    for (const ticket of this.options.find) this.found(ticket);
  }

  checkList(file, got, want) {
    if (got.fault) this.add("FAULT", file, got.fault.line, got.fault.want);
    else if (got.count > want.count) this.fault(file, `want ${want.count} lines, as the freeze says; there are more`);
    else if (got.count !== want.count) this.fault(file, `want ${want.count} lines, as the freeze says; there are ${got.count}`);
    else if (got.hash !== want.hash) this.fault(file, `want hash ${want.hash}, as the freeze says; this is ${got.hash}`);
    else this.ok(file, `${got.count} tickets, in order, each once; hash as the freeze says`);
  }

  // found answers where a ticket stands and, after the draw, its score and its
  // place in the order of all tickets.
  found(ticket) {
    const standing = this.lists.found.get(ticket), rank = this.lists.ranks.find((r) => r.ticket === ticket);
    const scored = standing?.in && rank !== undefined;
    this.report.found.push({ ticket, found: standing !== undefined, ...standing,
      ...(scored ? { score: hexOfWords(rank.score), share: shareOf(rank.score), rank: rank.before + 1 } : {}) });
  }

  // wantedTickets are those that a receipt, an entry or find asks for.
  wantedTickets() {
    const out = new Set(this.options.find);
    const take = (read) => { try { out.add(read().ticket); } catch { /* said later, see receipts.js */ } };
    for (const a of this.options.receipts) take(() => readReceipt(a.name, noteText(a.name, a.data)));
    for (const a of this.options.entries) take(() => readEntry(a.name, a.data));
    return [...out];
  }

  // peekSeed computes the seed before the record is checked, so that the lists
  // are gone over once; the relays are asked meanwhile.
  async peekSeed() {
    const data = await this.read("record.txt");
    if (data === null) return "";
    try {
      const r = readRecord("record.txt", noteText("record.txt", data));
      if (r.beacon && r.beacon.round === this.freeze.round && this.opening.beacon === quicknet.hash) {
        this.asked = askRelays(this.options.relays, r.beacon.round);
      }
      return sha256(seedText(this.freezeHash, r));
    } catch (e) {
      if (e instanceof WrongForm) return "";
      throw e;
    }
  }

  // Steps 1, 2, 4, 5, 6 and 7 for record.txt.
  async checkRecord() {
    const file = "record.txt", r = await this.readNote(file, readRecord);
    if (r === null) return;
    this.record = r;
    this.report.drawn = r.drawn;
    this.report.withheld = r.secrets.filter((s) => s.withheld).map((s) => s.role);
    this.chained(file, r, "freeze", "freeze.txt");
    if (!this.freeze) return;
    const faults = this.faults();
    if (r.drawn < this.opening.event) this.faultAt(file, "drawn", `want drawn not before the event, ${formatTime(this.opening.event)}`);
    this.checkSecrets(r);
    await this.checkBeacon(r);
    this.checkPlaces(r);
    if (this.faults() === faults) this.ok(file, `drawn ${formatTime(r.drawn)}; seed ${r.seed}`);
  }

  // Step 4: each opened secret hashes to its seal.
  checkSecrets(r) {
    const file = "record.txt", seals = this.opening.seals;
    if (r.secrets.length !== seals.length) {
      this.faultAt(file, "secret", `want ${seals.length} secrets, one for each seal of the opening`);
      return;
    }
    for (const [i, s] of r.secrets.entries()) {
      const key = `${s.withheld ? "withheld" : "secret"} ${s.role}`, want = seals[i];
      if (s.role !== want.role) { this.faultAt(file, key, `want the secret of ${want.role} in place ${i + 1}, the opening's order`); return; }
      if (!s.withheld && sha256(sealText(this.report.draw, this.verifier.name, s)) !== want.hash) {
        this.faultAt(file, key, `want the secret of ${s.role} whose seal the opening names`);
        return;
      }
    }
    this.ok(file, "each opened secret is the one that was sealed");
  }

  // Step 5: the public number.
  async checkBeacon(r) {
    const file = "record.txt", chain = this.opening.beacon, b = r.beacon;
    if (chain === "" && b) this.faultAt(file, "beacon", "want no beacon: the opening names none");
    if (chain !== "" && !b) this.fault(file, "want the beacon's signature: the opening names a beacon");
    if (chain === "" || !b) return;
    if (b.round !== this.freeze.round) this.faultAt(file, "beacon", `want round ${this.freeze.round}, as the freeze says`);
    else if (chain !== quicknet.hash) this.unread(file, `beacon not checked: chain ${chain} is not known here`);
    else await this.compareWithRelays(r);
  }

  async compareWithRelays(r) {
    const file = "record.txt", { round, signature } = r.beacon, at = timeOfRound(round);
    if (r.drawn < at) this.faultAt(file, "drawn", `want drawn not before the round's time, ${formatTime(at)}`);
    const { signatures, silent, answered } = await (this.asked ?? askRelays(this.options.relays, round));
    this.report.relays = { round, answered, of: this.options.relays.length };
    if (signatures.length === 0) this.unread(file, `beacon not checked: no relay answered: ${silent.join("; ")}`);
    else if (signatures.length > 1) this.unread(file, "beacon not checked: its relays do not agree with each other");
    else if (signatures[0] !== signature) this.faultAt(file, "beacon", `the beacon's relays have another signature for round ${round}`);
    else this.remark(file, "the beacon's signature was not verified here; its relays have the same");
  }

  // Step 6: the seed, and the score and order of every place over all tickets.
  checkPlaces(r) {
    const file = "record.txt", text = seedText(this.freezeHash, r), seed = sha256(text);
    if (r.seed !== seed) {
      this.faultAt(file, "seed", `want seed ${seed}, the hash of the seed's text with the lines above`);
      return;
    }
    this.report.seed = seed;
    this.report.seedText = text;
    const lists = this.lists;
    if (lists === null || lists.roll.fault || lists.roll.hash !== this.freeze.roll.hash) return; // said already
    const want = lists.lowest.places();
    if (r.places.length !== want.length) {
      this.fault(file, `want ${want.length} places; there are ${r.places.length}`);
      return;
    }
    for (const [i, p] of want.entries()) {
      if (r.places[i].ticket !== p.ticket || r.places[i].score !== p.score) {
        this.faultAt(file, `place ${p.place}`, `want place ${p.place} ${p.ticket} ${p.score}`);
        return;
      }
    }
    this.report.places = want;
    this.report.line = { scores: lists.shares.all.subarray(0, lists.shares.count), places: want, winners: this.opening.winners,
      own: this.report.found.filter((f) => f.rank).map(({ ticket, line, share, rank }) => ({ ticket, line, share, rank })) };
    this.ok(file, `${r.places.length} places: the lowest scores of all ${lists.roll.count} tickets, in order`);
  }

  // Steps 1, 2, 7 and 8 for outcome.txt and those kept.
  async checkOutcomes() {
    const file = "outcome.txt", faults = this.faults(), last = await this.outcomeOf(file, 0);
    if (last === null) return;
    this.outcome = last;
    this.report.passed = last.passed;
    this.report.confirmed = last.confirmed;
    const [before, whole] = await this.keptOutcomes(last.revision);
    this.checkOutcome(before, last);
    const soon = this.tooSoon - mostAlike, step = this.oneStep - mostAlike;
    if (soon > 0) this.remark(file, `and ${soon} more passes for no reply less than 24 hours after the place's turn`);
    if (step > 0) this.remark(file, `and ${step} more places passed and moved on in one step`);
    if (whole && this.record && this.freeze && this.faults() === faults) {
      this.ok(file, `revision ${last.revision}: ${last.passed.length} passed, ${last.confirmed.length} confirmed, each in its turn`);
    }
  }

  // keptOutcomes answers the outcome just before the last, and whether all are there.
  async keptOutcomes(last) {
    const most = Math.max(maxRevisions, 2 * (this.record?.places.length ?? 0) + 1);
    let before = null;
    for (let n = 1; n < last; n++) {
      if (n >= most) {
        this.unread("outcome.txt", `more revisions than this tool reads: ${last}, and it reads ${most}`);
        return [null, false];
      }
      const file = keptName("outcome.txt", n), o = await this.outcomeOf(file, n);
      if (await this.look(file) === "absent") this.fault(file, `want the outcome of revision ${n} kept here`);
      if (o === null) return [null, false];
      this.checkOutcome(before, o);
      before = o;
      this.texts.delete(file);
    }
    return [before, true];
  }

  async outcomeOf(file, n) {
    const o = await this.readNote(file, readOutcome);
    if (o === null) return null;
    if (n !== 0 && o.revision !== n) { this.add("FAULT", file, 4, `want revision ${n}`); return null; }
    this.chained(file, o, "record", "record.txt");
    return o;
  }

  checkOutcome(before, o) {
    if (!this.record || !this.freeze) return;
    const file = o.revision < this.outcome.revision ? keptName("outcome.txt", o.revision) : "outcome.txt";
    try {
      checkTurns(o, this.record, this.opening.winners);
      if (before === null && o.revision > 1) return; // the one before has been reported
      if (before !== null) checkReplaced(before, o);
    } catch (e) { this.wrong(file, e); return; }
    this.remarkActs(file, before ?? { passed: [], confirmed: [] }, o);
  }

  // remarkActs looks at the lines that a revision adds.
  remarkActs(file, before, o) {
    const turns = (passed) => turnsOf(this.opening.winners, this.record.places.length, this.record.drawn, passed);
    const now = turns(o.passed), had = turns(before.passed).length, acts = addedActs(before, o);
    const passedNow = new Map(acts.map((a) => [a.place, a.reason !== ""]));
    for (const a of acts) {
      const turn = now[a.place - 1];
      if (a.reason === "no-reply" && a.at - turn.at < 86400 && ++this.tooSoon <= mostAlike) {
        this.remark(file, `place ${a.place} passed for no reply ${formatSpan(a.at - turn.at)} after its turn, less than 24 hours`);
      }
      if (a.place > had && passedNow.get(turn.by) && ++this.oneStep <= mostAlike) {
        this.remark(file, `place ${turn.by} passed and moved on in one step, to place ${a.place}: its holder could not object`);
      }
    }
  }

  // Steps 1 and 2 for cancelled.txt.
  async checkCancelled() {
    const file = "cancelled.txt", x = await this.readNote(file, readCancelled);
    if (x === null) return;
    this.cancelled = x;
    this.report.cancelled = { at: x.at, reason: x.reason, successor: x.successor };
    this.chained(file, x, "opening", "opening.txt");
    if (await this.look("record.txt") === "present") {
      this.fault(file, "stands beside a record: a draw that was made can't be cancelled");
      return;
    }
    this.ok(file, `cancelled ${formatTime(x.at)}, reason ${x.reason}`);
    if (this.cancelledLate()) this.remark(file, "cancelled when the host could already know the result");
  }

  cancelledLate() { return Boolean(this.freeze) && this.cancelled.at >= this.opening.event; }

  // Kept files that nothing calls for; only a folder can be listed.
  async checkStrays() {
    if (!this.source.names) { this.ok("", "stray files were not looked for: that is possible in a folder only"); return; }
    for (const file of this.source.names()) {
      const kept = /^([a-z]+)\.([0-9]+)\.txt$/.exec(file);
      if (kept && stems.includes(kept[1]) && !await this.called(kept[1], kept[2])) this.fault(file, "nothing calls for this file");
    }
  }

  async called(stem, digits) {
    const n = /^[1-9][0-9]{0,14}$/.test(digits) ? Number(digits) : 0;
    if (n < 1) return false;
    if (stem === "opening") return n < this.opening.revision;
    if (stem === "rules" && n < this.opening.revision) return this.openings === null || this.openings[n - 1].rules !== this.openings[n].rules;
    if (stem === "outcome" && !this.outcome) return await this.look("outcome.txt") !== "absent"; // one that is broken has been reported
    return stem === "outcome" && n < this.outcome.revision;
  }

  // Each reason for which a draw is weak is one remark.
  checkWeak() {
    const weak = (text) => { this.report.weak = true; this.remark("", `weak: ${text}`); }, chain = this.opening.beacon;
    if (chain === "") weak("no beacon: whoever holds all secrets could have steered the draw, and no file shows that they are different people");
    else if (chain !== quicknet.hash) weak(`the beacon's chain is not quicknet: ${chain}`);
    const shut = this.report.withheld ?? [];
    if (shut.length === 1) weak(`the secret of ${shut[0]} was withheld: its holder, or the host by claiming it, could choose between two results`);
    if (shut.length > 1) {
      weak(`the secrets of ${listed(shut)} were withheld: their holders, or the host by claiming it, could choose between ${2 ** shut.length} results`);
    }
  }

  // What the person who checks knows already.
  async checkOptions() {
    const o = this.opening, { key, freeze, host, now } = this.options;
    if (o.alternates > 10 * o.winners + 10) this.remark("opening.txt", `${o.alternates} alternates for ${o.winners} winners: the more places, the more can be passed`);
    if (key && key !== o.signer) this.fault("opening.txt", `want the signer ${key}; this is ${o.signer}`);
    if (freeze && await this.look("freeze.txt") !== "unknown" && freeze !== this.freezeHash) this.fault("freeze.txt", `want the freeze whose hash is ${freeze}`);
    if (host && host !== this.verifier.name) this.remark("", `read from ${host}, but signed by ${this.verifier.name}`);
    if (now) await this.checkNow(now);
  }

  // checkNow looks for what is overdue by the clock of the person who checks.
  async checkNow(now) {
    const event = this.opening.event;
    if (await this.look("record.txt") !== "absent" || await this.look("cancelled.txt") !== "absent") return;
    if (await this.look("freeze.txt") === "absent" && now >= event) this.remark("", `the event, ${formatTime(event)}, has come and the list was never frozen`);
    else if (this.freeze && now >= event + 86400) this.remark("", "frozen, but neither drawn nor cancelled 24 hours after the event");
  }

  checkReceipts() { checkReceipts(this); }

  // conclude turns the findings into status and verdict. A fault always wins.
  conclude() {
    const r = this.report;
    if (this.faults() > 0) { r.status = 1; r.verdict = "not valid"; return; }
    if (this.unknown) { r.status = 2; return; }
    r.verdict = (this.cancelled ? "cancelled" : this.record ? "valid" : "valid so far") + (r.weak ? ", weak" : "");
  }
}

// notOpening says why the first line is not that of an opening of version 1.
function notOpening(data) {
  const first = data.slice(0, 200).split("\n")[0], want = "want the first line evenhand/opening/v1";
  if (first === "evenhand/opening/v1") return "";
  if (/^evenhand\/opening\/v([2-9]|[1-9][0-9]+)$/.test(first)) return "a version newer than this tool";
  if (first.startsWith(byteOrderMark) || /^(\xff\xfe|\xfe\xff)/.test(first)) return `${want}; a byte-order mark stands before it`;
  return first.endsWith("\r") ? `${want}; it ends in a CR` : want;
}

// sealText is the text whose hash the opening named.
const sealText = (draw, signer, s) => `evenhand/seal/v1\ndraw ${draw}\nsigner ${signer}\nby ${s.role}\nsecret ${s.value}\n`;

// seedText is the text whose hash is the seed.
function seedText(freezeHash, r) {
  const lines = ["evenhand/seed/v1", `freeze ${freezeHash}`, ...r.secrets.map((s) => s.line)];
  if (r.beacon) lines.push(`beacon ${r.beacon.round} ${randomnessOf(r.beacon.signature)}`);
  return lines.join("\n") + "\n";
}
