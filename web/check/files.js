// What stands in each file, read strictly: keys in this order, nothing else.
// Each answer keeps its text, which is what the hashes are over.

const maxPlaces = 10000; // winners and alternates together
const maxSeals = 8;

// keptName is the name under which revision n of a file is kept: opening.1.txt.
const keptName = (file, n) => file.replace(/txt$/, `${n}.txt`);

function readOpening(file, text) {
  const r = new Reader(file, text), o = { text, replaces: "", revised: 0, beacon: "", follows: "" };
  r.literal("evenhand/opening/v1");
  o.draw = r.id("draw");
  o.revision = r.number("revision", 1);
  if (o.revision > 1) {
    o.replaces = r.digest("replaces", "H of the opening before");
    o.revised = r.time("revised");
  }
  o.signer = r.value("signer", "verifier key");
  const verifier = parseVerifier(o.signer);
  if (verifier.wrong) r.fail(verifier.wrong);
  o.opens = r.time("opens");
  o.closes = r.time("closes");
  if (o.opens >= o.closes) r.fail("want closes after opens");
  o.event = r.time("event");
  if (o.closes >= o.event) r.fail("want event after closes");
  if (o.revision > 1 && o.revised >= o.event) r.fail(`want event after revised, ${formatTime(o.revised)}`);
  for (const [key, least] of [["winners", 1], ["alternates", 0]]) {
    o[key] = r.number(key, least);
    if (o[key] > maxPlaces) r.fail(`want ${key} of ${maxPlaces} at most`);
  }
  if (o.winners + o.alternates > maxPlaces) r.fail(`want winners and alternates to be ${maxPlaces} at most together`);
  o.rules = r.digest("rules", "H of rules.txt");
  o.seals = readSeals(r);
  if (r.at("beacon")) o.beacon = r.digest("beacon", "chain hash");
  if (r.at("follows")) {
    o.follows = r.id("follows");
    if (o.follows === o.draw) r.fail("want follows to name another draw");
  }
  r.end();
  return o;
}

function readSeals(r) {
  const out = [];
  while (out.length === 0 || r.at("seal")) {
    const [role, hash] = r.fields("seal", "role", "H"), seal = { role: r.asRole(role, "a role"), hash: r.asDigest(hash) };
    if (out.length === maxSeals) r.fail(`want ${maxSeals} seals at most`);
    if (out.length > 0 && out.at(-1).role >= role) r.fail("want the seals' roles in strictly ascending order");
    out.push(seal);
  }
  if (!out.some((s) => s.role === "host")) r.fail("want a seal of the host");
  return out;
}

// openingText prints an opening, to compare one with another.
function openingText(o) {
  const lines = ["evenhand/opening/v1", `draw ${o.draw}`, `revision ${o.revision}`];
  if (o.revision > 1) lines.push(`replaces ${o.replaces}`, `revised ${formatTime(o.revised)}`);
  lines.push(`signer ${o.signer}`, `opens ${formatTime(o.opens)}`, `closes ${formatTime(o.closes)}`, `event ${formatTime(o.event)}`,
    `winners ${o.winners}`, `alternates ${o.alternates}`, `rules ${o.rules}`);
  for (const s of o.seals) lines.push(`seal ${s.role} ${s.hash}`);
  if (o.beacon) lines.push(`beacon ${o.beacon}`);
  if (o.follows) lines.push(`follows ${o.follows}`);
  return lines.join("\n") + "\n";
}

function readFreeze(file, text) {
  const r = new Reader(file, text), f = { text, round: 0 };
  r.literal("evenhand/freeze/v1");
  f.draw = r.id("draw");
  f.opening = r.digest("opening", "H of opening.txt");
  f.frozen = r.time("frozen");
  f.issued = r.number("issued", 0);
  const issuedAt = r.n;
  for (const key of ["roll", "excluded"]) {
    const [n, hash] = r.fields(key, "n", `H of ${key}.txt`);
    f[key] = { count: r.asNumber(n, 0), hash: r.asDigest(hash) };
  }
  if (r.at("round")) f.round = r.number("round", 1);
  r.end();
  r.n = issuedAt;
  if (f.issued !== f.roll.count + f.excluded.count) r.fail(`want issued = roll + excluded = ${f.roll.count + f.excluded.count}`);
  return f;
}

function readRecord(file, text) {
  const r = new Reader(file, text), o = { text, secrets: [], beacon: null, places: [] };
  r.literal("evenhand/record/v1");
  o.draw = r.id("draw");
  o.freeze = r.digest("freeze", "H of freeze.txt");
  o.drawn = r.time("drawn");
  while (o.secrets.length === 0 || r.at("secret") || r.at("withheld")) {
    o.secrets.push(readSecret(r));
    if (o.secrets.length > maxSeals) r.fail(`want ${maxSeals} secrets at most`);
  }
  if (r.at("beacon")) {
    const [round, signature] = r.fields("beacon", "round", "signature");
    o.beacon = { round: r.asNumber(round, 1), signature: asSignature(r, signature) };
  }
  o.seed = r.digest("seed", "64 hex");
  while (r.rest !== "") o.places.push(readPlace(r, o.places.length + 1));
  return o;
}

// readSecret reads an opened seal, or one that was left shut.
function readSecret(r) {
  if (r.at("withheld")) {
    const role = r.asRole(r.value("withheld", "role"), "a role");
    if (role === "host") r.fail("want the host's secret: it is never withheld");
    return { role, withheld: true, line: `withheld ${role}` };
  }
  const [role, value] = r.fields("secret", "role", "64 hex");
  r.asRole(role, "a role");
  r.asDigest(value);
  return { role, withheld: false, value, line: `secret ${role} ${value}` };
}

function asSignature(r, s) {
  if (s.length !== 96) r.fail(`read beacon signature: ${s.length} characters, want 96 hex digits`);
  const odd = s.search(/[^0-9a-f]/);
  if (odd >= 0) r.fail(`read beacon signature: character ${odd + 1} is not a lower-case hex digit`);
  return s;
}

function readPlace(r, want) {
  const [n, ticket, score] = r.fields("place", "n", "ticket", "score");
  if (r.asNumber(n, 1) !== want) r.fail(`want place ${want}`);
  if (want > maxPlaces) r.fail(`want ${maxPlaces} places at most`);
  return { place: want, ticket: r.asTicket(ticket), score: r.asDigest(score) };
}

function readOutcome(file, text) {
  const r = new Reader(file, text), o = { text, replaces: "", passed: [], confirmed: [] };
  r.literal("evenhand/outcome/v1");
  o.draw = r.id("draw");
  o.record = r.digest("record", "H of record.txt");
  o.revision = r.number("revision", 1);
  if (o.revision > 1) o.replaces = r.digest("replaces", "H of the outcome before");
  let last = 0;
  while (r.at("passed")) {
    const [place, reason, time] = r.fields("passed", "place", "reason", "time");
    last = nextPlace(r, place, last);
    if (!["no-reply", "declined", "ineligible", "withdrawn"].includes(reason)) r.fail("want a reason of no-reply, declined, ineligible, withdrawn");
    o.passed.push({ place: last, reason, at: r.asTime(time) });
  }
  const gone = new Set(o.passed.map((p) => p.place));
  last = 0;
  while (r.at("confirmed")) {
    const [place, time] = r.fields("confirmed", "place", "time");
    last = nextPlace(r, place, last);
    const at = r.asTime(time);
    if (gone.has(last)) r.fail(`want place ${last} either passed or confirmed`);
    o.confirmed.push({ place: last, reason: "", at });
  }
  r.end();
  return o;
}

// nextPlace reads a place that stands after the last one.
function nextPlace(r, s, last) {
  const n = r.asNumber(s, 1);
  if (n > maxPlaces) r.fail(`want a place of ${maxPlaces} at most`);
  if (n <= last) r.fail("want the places in ascending order, each once");
  return n;
}

function readCancelled(file, text) {
  const r = new Reader(file, text), c = { text, successor: "" };
  r.literal("evenhand/cancelled/v1");
  c.draw = r.id("draw");
  c.opening = r.digest("opening", "H of opening.txt");
  c.at = r.time("cancelled");
  c.reason = r.asRole(r.value("reason", "code"), "a reason's code");
  if (r.at("successor")) {
    c.successor = r.id("successor");
    if (c.successor === c.draw) r.fail("want a successor with another draw id");
  }
  r.end();
  return c;
}

function readReceipt(file, text) {
  const r = new Reader(file, text), o = { text };
  r.literal("evenhand/receipt/v1");
  o.draw = r.id("draw");
  o.opening = r.digest("opening", "H of the opening");
  o.ticket = r.asTicket(r.value("ticket", "ticket"));
  o.entered = r.time("entered");
  o.commitment = r.digest("commitment", "64 hex");
  r.end();
  return o;
}

// readEntry reads an entry's own text. Its hash is the commitment that stands
// beside the ticket in roll.txt.
function readEntry(file, text) {
  const r = new Reader(file, text), e = { text, commitment: sha256(text) };
  r.literal("evenhand/entry/v1");
  r.digest("salt", "64 hex");
  e.draw = r.id("draw");
  e.ticket = r.asTicket(r.value("ticket", "ticket"));
  r.utf8 = true;
  e.email = r.value("email", "address");
  r.utf8 = false;
  if (!validEmail(e.email)) r.fail("want an address of 3 to 254 bytes, UTF-8 in NFC, without spaces or control characters");
  e.unsettled = !isNFC(utf8(e.email)); // see settled
  readSize(r);
  if (!/^[A-Z]{2}$/.test(r.value("ship", "country"))) r.fail("want a country code of two capital letters (ISO 3166-1 alpha-2)");
  r.end();
  return e;
}

function validEmail(s) {
  const shown = utf8(s);
  return s.length >= 3 && s.length <= 254 && shown !== null && shown.match(settled).every(isNFC) && !/[\p{White_Space}\p{Cc}]/u.test(shown);
}

const isNFC = (s) => s.normalize("NFC") === s;

// settled finds runs of letters whose normal form no version of Unicode will
// change any more: Latin, Greek, Cyrillic, Hangul and their marks, all assigned
// long ago (Unicode's "Normalization Stability"). Elsewhere characters are
// still added, and a browser may know some that the command line does not.
const settled = /[\u0000-\u052f\u1100-\u11ff\u1e00-\u1fff\uac00-\ud7a3]*/g;

function readSize(r) {
  if (r.rest.startsWith("size none\n")) { r.literal("size none"); return; }
  const [system, size, width] = r.fields("size", "system", "size", "width"), form = /^[A-Za-z0-9./-]{1,12}$/;
  if (system !== "mens" && system !== "womens") r.fail("want the system mens or womens");
  if (!form.test(size) || !form.test(width)) r.fail("want size and width of 1 to 12 characters of A-Z a-z 0-9 . / -");
}
