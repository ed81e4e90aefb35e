// The locked list: freeze.txt, and both lists in one pass.

// Steps 1, 2, 5 and 7 for freeze.txt.
async function checkFreeze(c) {
  const file = "freeze.txt", o = c.opening, f = await c.readNote(file, readFreeze);
  if (f === null) return;
  c.freeze = f;
  c.freezeHash = sha256(f.text);
  Object.assign(c.report, { tickets: f.roll.count, excluded: f.excluded.count, freeze: c.freezeHash, frozen: f.frozen });
  const faults = c.faults();
  c.chained(file, f, "opening", "opening.txt");
  if (f.frozen < o.closes) c.faultAt(file, "frozen", `want frozen not before closes, ${formatTime(o.closes)}`);
  else if (f.frozen >= o.event) c.faultAt(file, "frozen", `want frozen before the event, ${formatTime(o.event)}`);
  else if (o.revision > 1 && o.revised >= f.frozen) c.faultAt(file, "frozen", `want frozen after revised, ${formatTime(o.revised)}`);
  checkRound(c);
  if (c.faults() === faults) c.ok(file, `signed; frozen ${formatTime(f.frozen)}, hash ${c.freezeHash}`);
  const left = o.event - f.frozen;
  if (left > 0 && left < 600) c.remark(file, `frozen ${formatSpan(left)} before the event: hardly anybody can have seen it in time`);
}

function checkRound(c) {
  const file = "freeze.txt", chain = c.opening.beacon, round = c.freeze.round;
  if (chain === "" && round !== 0) c.faultAt(file, "round", "want no round: the opening names no beacon");
  if (chain !== "" && round === 0) c.fault(file, "want the beacon's round: the opening names a beacon");
  if (chain === "" || round === 0) return;
  const want = roundAt(c.opening.event);
  if (chain !== quicknet.hash) c.unread(file, `beacon not checked: chain ${chain} is not known here`);
  else if (round !== want) c.faultAt(file, "round", `want round ${want}, the first whose time is not before the event`);
}

// Step 3, and the scores of step 6, in one pass.
async function checkLists(c) {
  c.lists = null;
  if (!c.freeze || await c.look("roll.txt") !== "present" || await c.look("excluded.txt") !== "present") return;
  const { roll, excluded } = c.freeze, seed = await peekSeed(c);
  const lists = new Lists({ seed, places: c.opening.winners + c.opening.alternates, wanted: wantedTickets(c),
    progress: (n) => c.options.progress(n, roll.count) });
  try {
    const rollBytes = await c.source.stream("roll.txt"), excludedBytes = await c.source.stream("excluded.txt");
    await lists.run(firstBytes(rollBytes, (roll.count + 1) * rollLine), firstLines(excludedBytes, excluded.count + 1));
  } catch (e) {
    c.unread("", e.message);
    return;
  }
  c.lists = lists;
  checkList(c, "roll.txt", lists.roll, roll);
  checkList(c, "excluded.txt", lists.excluded, excluded);
  for (const ticket of c.options.find.length > 0 ? c.options.find : ticketsOfPapers(c)) findTicket(c, ticket);
}

function checkList(c, file, got, want) {
  if (got.fault) c.add("FAULT", file, got.fault.line, got.fault.want);
  else if (got.count > want.count) c.fault(file, `want ${want.count} lines, as the freeze says; there are more`);
  else if (got.count !== want.count) c.fault(file, `want ${want.count} lines, as the freeze says; there are ${got.count}`);
  else if (got.hash !== want.hash) c.fault(file, `want hash ${want.hash}, as the freeze says; this is ${got.hash}`);
  else c.ok(file, `${got.count} tickets, in order, each once; hash as the freeze says`);
}

// found answers where a ticket stands and, after the draw, its score and its
// place in the order of all tickets.
function findTicket(c, ticket) {
  const standing = c.lists.found.get(ticket), rank = c.lists.ranks.find((r) => r.ticket === ticket);
  const scored = standing?.in && rank !== undefined;
  c.report.found.push({ ticket, found: standing !== undefined, ...standing,
    ...(scored ? { score: hexOfWords(rank.score), share: shareOf(rank.score), rank: rank.before + 1 } : {}) });
}

// wantedTickets are those that a receipt, an entry or find asks for.
const wantedTickets = (c) => [...new Set([...c.options.find, ...c.held.map((r) => r.ticket), ...c.entries.map((e) => e.ticket)])];

// peekSeed computes the seed before the record is checked, so that the lists
// are gone over once; the relays are asked meanwhile.
async function peekSeed(c) {
  const data = await c.read("record.txt");
  if (data === null) return "";
  try {
    const r = readRecord("record.txt", noteText("record.txt", data));
    if (r.beacon && r.beacon.round === c.freeze.round && c.opening.beacon === quicknet.hash) {
      c.asked = askRelays(c.options.relays, r.beacon.round);
    }
    return sha256(seedText(c.freezeHash, r));
  } catch (e) {
    if (e instanceof WrongForm) return "";
    throw e;
  }
}
