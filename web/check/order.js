// What may change after it was published, and whose turn it is.

// changesOf lists what a revision of the terms may change, and does.
function changesOf(before, after) {
  const lines = [["closes", formatTime(before.closes), formatTime(after.closes)], ["event", formatTime(before.event), formatTime(after.event)], ["rules", before.rules, after.rules]];
  return lines.filter(([, was, is]) => was !== is);
}

// checkRevision: a revision changes at least one of closes, event (both only
// to a later time) and rules, and nothing else.
function checkRevision(before, after) {
  const fail = (key, want) => { throw new WrongLine(key, want); };
  const alike = openingText({ ...after, revision: before.revision, replaces: before.replaces, revised: before.revised,
    closes: before.closes, event: before.event, rules: before.rules });
  if (after.revision !== before.revision + 1) fail("revision", `want revision ${before.revision + 1} after revision ${before.revision}`);
  if (after.replaces !== sha256(before.text)) fail("replaces", `want replaces ${sha256(before.text)}, the hash of revision ${before.revision}`);
  if (alike !== before.text) {
    const [key, was] = firstChange(before.text, alike);
    if (was === "") fail(key, "want no such line: a revision changes closes, event and rules only");
    fail(key, `want ${quoted(was)} as it was: a revision changes closes, event and rules only`);
  }
  if (changesOf(before, after).length === 0) fail("revision", "want a change: a revision changes at least one of closes, event and rules");
  if (after.closes < before.closes) fail("closes", `want closes not before ${formatTime(before.closes)}: a revision moves it to a later time only`);
  if (after.event < before.event) fail("event", `want event not before ${formatTime(before.event)}: a revision moves it to a later time only`);
  if (before.revision > 1 && after.revised <= before.revised) fail("revised", `want revised later than ${formatTime(before.revised)}, the revised before`);
  if (after.revised >= after.event) fail("revised", `want revised before its own event, ${formatTime(after.event)}`);
}

// firstChange is the first line that is not as it was: what it begins with,
// and what stood there before ("" is no line).
function firstChange(before, after) {
  const a = before.split("\n"), b = after.split("\n");
  let was = "";
  for (let i = 0; i < Math.max(a.length, b.length); i++) {
    if (i < a.length) was = a[i];
    if (i < b.length && i < a.length && a[i] === b[i]) continue;
    const key = i < b.length ? b[i].split(" ")[0] : "", fields = was.split(" ");
    return [key === "seal" && fields.length > 1 ? `${key} ${fields[1]}` : key, was];
  }
  return ["", ""];
}

// turnsOf says when each place has its turn, as far as they have one, the first
// place first: from the draw, or from the time of the pass after which fewer
// than winners places before it stand. by is the place whose pass gave it.
function turnsOf(winners, places, drawn, passed) {
  const byTime = passed.slice().sort((a, b) => a.at - b.at), rank = new Map(), before = [], out = [];
  byTime.forEach((p, i) => rank.set(p.place, i));
  for (let place = 1; place <= places; place++) {
    const need = place - winners; // so many of the places before it must be passed
    if (need > before.length) break;
    const by = need > 0 ? byTime[before[need - 1]] : null;
    out.push(by === null ? { at: drawn, by: 0 } : { at: by.at, by: by.place });
    if (rank.has(place)) {
      const i = rank.get(place), at = before.findIndex((x) => x > i);
      before.splice(at < 0 ? before.length : at, 0, i);
    }
  }
  return out;
}

const actsOf = (outcome) => [...outcome.passed, ...outcome.confirmed];
const keyOf = (act) => `${act.reason === "" ? "confirmed" : "passed"} ${act.place}`;
const actText = (act) => `${act.place} ${act.reason} ${act.at}`;

// addedActs are the lines that one outcome has and the one before has not.
function addedActs(before, after) {
  const had = new Set(actsOf(before).map(actText));
  return actsOf(after).filter((a) => !had.has(actText(a)));
}

// checkTurns: every line is about a place of the record, at or after its turn,
// with no more places confirmed than win.
function checkTurns(outcome, record, winners) {
  const fail = (key, want) => { throw new WrongLine(key, want); };
  const places = record.places.length, turns = turnsOf(winners, places, record.drawn, outcome.passed);
  for (const a of actsOf(outcome)) {
    if (a.place > places) fail(keyOf(a), `want a place of the record, 1 to ${places}; this is ${a.place}`);
    if (a.place > turns.length) fail(keyOf(a), `want place ${a.place} left alone: it has no turn while ${winners} of the places before it stand`);
    const turn = turns[a.place - 1].at;
    if (a.at < turn) fail(keyOf(a), `want place ${a.place} passed or confirmed not before its turn, ${formatTime(turn)}`);
  }
  const n = outcome.confirmed.length;
  if (n > winners) fail("confirmed", `want ${winners} places confirmed at most; there are ${n}`);
}

// checkReplaced: every pass stays as it was, a confirmed place may become a
// passed one, nothing else goes away, no new line is earlier than one before.
function checkReplaced(before, after) {
  const fail = (key, want) => { throw new WrongLine(key, want); };
  if (after.revision !== before.revision + 1) fail("revision", `want revision ${before.revision + 1} after revision ${before.revision}`);
  if (after.replaces !== sha256(before.text)) fail("replaces", `want replaces ${sha256(before.text)}, the hash of revision ${before.revision}`);
  const stands = new Set(actsOf(after).map(actText)), passed = new Set(after.passed.map((p) => p.place));
  for (const p of before.passed) {
    if (!stands.has(actText(p))) fail(keyOf(p), `want the pass of place ${p.place} kept as it was: ${p.reason} ${formatTime(p.at)}`);
  }
  for (const c of before.confirmed) {
    if (!passed.has(c.place) && !stands.has(actText(c))) fail(keyOf(c), `want place ${c.place} kept as confirmed ${formatTime(c.at)}, or passed`);
  }
  const latest = actsOf(before).reduce((t, a) => Math.max(t, a.at), 0);
  for (const a of addedActs(before, after)) {
    if (a.at < latest) fail(keyOf(a), `want the new line of place ${a.place} not before ${formatTime(latest)}, the latest line before`);
  }
}
