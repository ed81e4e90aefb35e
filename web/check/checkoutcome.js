// What became of the places: outcome.txt and those before it.

const mostAlike = 20; // remarks of one kind that are given one by one

// Steps 1, 2, 7 and 8 for outcome.txt and those kept.
async function checkOutcomes(c) {
  const file = "outcome.txt", faults = c.faults(), last = await outcomeOf(c, file, 0);
  if (last === null) return;
  c.outcome = last;
  c.report.passed = last.passed;
  c.report.confirmed = last.confirmed;
  const [before, whole] = await keptOutcomes(c, last.revision);
  checkOutcome(c, before, last);
  const soon = c.tooSoon - mostAlike, step = c.oneStep - mostAlike;
  if (soon > 0) c.remark(file, `and ${soon} more passes for no reply less than 24 hours after the place's turn`);
  if (step > 0) c.remark(file, `and ${step} more places passed and moved on in one step`);
  if (whole && c.record && c.freeze && c.faults() === faults) {
    c.ok(file, `revision ${last.revision}: ${last.passed.length} passed, ${last.confirmed.length} confirmed, each in its turn`);
  }
}

// keptOutcomes answers the outcome just before the last, and whether all are there.
async function keptOutcomes(c, last) {
  const most = Math.max(maxRevisions, 2 * (c.record?.places.length ?? 0) + 1);
  let before = null;
  for (let n = 1; n < last; n++) {
    if (n >= most) {
      c.unread("outcome.txt", `more revisions than this tool reads: ${last}, and it reads ${most}`);
      return [null, false];
    }
    const file = keptName("outcome.txt", n), o = await outcomeOf(c, file, n);
    if (await c.look(file) === "absent") c.fault(file, `want the outcome of revision ${n} kept here`);
    if (o === null) return [null, false];
    checkOutcome(c, before, o);
    before = o;
    c.texts.delete(file);
  }
  return [before, true];
}

async function outcomeOf(c, file, n) {
  const o = await c.readNote(file, readOutcome);
  if (o === null) return null;
  if (n !== 0 && o.revision !== n) { c.add("FAULT", file, 4, `want revision ${n}`); return null; }
  c.chained(file, o, "record", "record.txt");
  return o;
}

function checkOutcome(c, before, o) {
  if (!c.record || !c.freeze) return;
  const file = o.revision < c.outcome.revision ? keptName("outcome.txt", o.revision) : "outcome.txt";
  try {
    checkTurns(o, c.record, c.opening.winners);
    if (before === null && o.revision > 1) return; // the one before has been reported
    if (before !== null) checkReplaced(before, o);
  } catch (e) { c.wrong(file, e); return; }
  remarkActs(c, file, before ?? { passed: [], confirmed: [] }, o);
}

// remarkActs looks at the lines that a revision adds.
function remarkActs(c, file, before, o) {
  const turns = (passed) => turnsOf(c.opening.winners, c.record.places.length, c.record.drawn, passed);
  const now = turns(o.passed), had = turns(before.passed).length, acts = addedActs(before, o);
  const passedNow = new Map(acts.map((a) => [a.place, a.reason !== ""]));
  for (const a of acts) {
    const turn = now[a.place - 1];
    if (a.reason === "no-reply" && a.at - turn.at < 86400 && ++c.tooSoon <= mostAlike) {
      c.remark(file, `place ${a.place} passed for no reply ${formatSpan(a.at - turn.at)} after its turn, less than 24 hours`);
    }
    if (a.place > had && passedNow.get(turn.by) && ++c.oneStep <= mostAlike) {
      c.remark(file, `place ${turn.by} passed and moved on in one step, to place ${a.place}: its holder could not object`);
    }
  }
}
