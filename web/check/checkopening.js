// The terms that were posted, those before them, the rules, and which files are there.

const groups = [["opening.txt", "rules.txt"], ["roll.txt", "excluded.txt", "freeze.txt"], ["record.txt"], ["outcome.txt"]];
const stages = ["open", "frozen", "drawn", "outcome"];
const stems = ["opening", "rules", "roll", "excluded", "freeze", "record", "outcome", "cancelled"];

// Step 1: opening.txt. Its first line decides whether this is a publication
// at all, its key is the one that all notes are checked with.
async function readOpeningFile(c) {
  const file = "opening.txt", data = await c.read(file);
  if (data === null) {
    if (c.seen.get(file) === "absent") c.unread(file, "there is none: this is not a publication");
    return false;
  }
  const why = notOpening(data);
  if (why !== "") { c.unread(file, why); return false; }
  try {
    const text = noteText(file, data), o = readOpening(file, text);
    c.verifier = parseVerifier(o.signer);
    openNote(file, data, c.verifier);
    c.opening = o;
    c.texts.set(file, text);
  } catch (e) {
    c.wrong(file, e);
    return false;
  }
  const o = c.opening;
  Object.assign(c.report, { draw: o.draw, stage: "open", signer: c.verifier.name, key: o.signer,
    opening: { revision: o.revision, revised: o.revised, winners: o.winners, alternates: o.alternates, event: o.event, opens: o.opens, closes: o.closes, beacon: o.beacon, roles: o.seals.map((s) => s.role) } });
  c.ok(file, `signed by ${c.verifier.name}; draw ${o.draw}, revision ${o.revision}`);
  return true;
}

// Step 8 for the terms: the openings before this one.
async function checkOpenings(c) {
  const last = c.opening, all = [];
  for (let n = 1; n < last.revision && n <= maxRevisions; n++) {
    const o = await keptOpening(c, keptName("opening.txt", n), n);
    if (o === null) return;
    all.push(o);
  }
  if (last.revision <= maxRevisions) all.push(last);
  for (let i = 0; i + 1 < all.length; i++) checkRevised(c, all[i], all[i + 1]);
  if (last.revision > maxRevisions) c.unread("opening.txt", `more revisions than this tool reads: ${last.revision}, and it reads ${maxRevisions}`);
  else c.openings = all;
}

async function keptOpening(c, file, n) {
  const o = await c.readNote(file, readOpening);
  if (await c.look(file) === "absent") c.fault(file, `want the opening of revision ${n} kept here`);
  else if (o !== null && o.revision !== n) { c.add("FAULT", file, 3, `want revision ${n}`); return null; }
  return o;
}

function checkRevised(c, before, after) {
  const file = after.revision < c.opening.revision ? keptName("opening.txt", after.revision) : "opening.txt";
  try { checkRevision(before, after); } catch (e) { c.wrong(file, e); return; }
  let text = `revised ${formatTime(after.revised)}: ${changesOf(before, after).map(([key, was, is]) => `${key} from ${was} to ${is}`).join(", ")}`;
  if (after.revised >= before.event) text += "; moved after the event: a result may have been tried and dropped";
  if (after.rules !== before.rules && after.revised >= before.closes) text += "; rules changed after entries closed";
  c.remark(file, text);
}

// Each group of files is whole or absent, none without the one before.
async function checkGroups(c) {
  let before = "";
  for (const [i, group] of groups.entries()) {
    const there = [], missing = [];
    for (const file of group) {
      const seen = await c.look(file);
      if (seen === "present") there.push(file);
      if (seen === "absent") missing.push(file);
    }
    const lost = there.length + missing.length < group.length;
    if (there.length === 0 && before === "" && !lost) before = missing[0];
    else if (there.length > 0 && before !== "") c.fault(there[0], `stands without the files before it: ${before} is missing`);
    else if (there.length > 0 && missing.length > 0) {
      c.fault(missing[0], `is missing beside ${there[0]}`);
      before = missing[0];
    } else if (there.length > 0 && !lost) c.report.stage = stages[i];
  }
}

// Step 2 for the rules, those kept included.
async function checkRules(c) {
  if (await c.look("rules.txt") === "present") await rulesHash(c, "rules.txt", c.opening.rules);
  const all = c.openings ?? [];
  for (let i = 0; i + 1 < all.length; i++) {
    if (all[i].rules !== all[i + 1].rules) await rulesHash(c, keptName("rules.txt", i + 1), all[i].rules);
  }
}

async function rulesHash(c, file, want) {
  try {
    const next = await c.source.stream(file);
    if (next === null) { c.fault(file, "want the rules that the opening of that revision names, kept here"); return; }
    const hash = new Sha256();
    for (let bytes; (bytes = await next()) !== null;) hash.update(bytes);
    const got = hash.hex();
    if (got !== want) c.fault(file, `want hash ${want}, as the opening says; this is ${got}`);
    else c.ok(file, "is the text whose hash the opening names");
  } catch (e) { c.lost(file, e); }
}

// Kept files that nothing calls for; only a folder can be listed.
async function checkStrays(c) {
  if (!c.source.names) { c.ok("", "stray files were not looked for: that is possible in a folder only"); return; }
  for (const file of c.source.names()) {
    const kept = /^([a-z]+)\.([0-9]+)\.txt$/.exec(file);
    if (kept && stems.includes(kept[1]) && !await called(c, kept[1], kept[2])) c.fault(file, "nothing calls for this file");
  }
}

async function called(c, stem, digits) {
  const n = /^[1-9][0-9]{0,14}$/.test(digits) ? Number(digits) : 0;
  if (n < 1) return false;
  if (stem === "opening") return n < c.opening.revision;
  if (stem === "rules" && n < c.opening.revision) return c.openings === null || c.openings[n - 1].rules !== c.openings[n].rules;
  if (stem === "outcome" && !c.outcome) return await c.look("outcome.txt") !== "absent"; // one that is broken has been reported
  return stem === "outcome" && n < c.outcome.revision;
}

// notOpening says why the first line is not that of an opening of version 1.
function notOpening(data) {
  const first = data.slice(0, 200).split("\n")[0], want = "want the first line evenhand/opening/v1";
  if (first === "evenhand/opening/v1") return "";
  if (/^evenhand\/opening\/v([2-9]|[1-9][0-9]+)$/.test(first)) return "a version newer than this tool";
  if (first.startsWith(byteOrderMark) || /^(\xff\xfe|\xfe\xff)/.test(first)) return `${want}; a byte-order mark stands before it`;
  return first.endsWith("\r") ? `${want}; it ends in a CR` : want;
}
