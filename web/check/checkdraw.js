// The draw itself: record.txt, or why there is none.

// Steps 1, 2, 4, 5, 6 and 7 for record.txt.
async function checkRecord(c) {
  const file = "record.txt", r = await c.readNote(file, readRecord);
  if (r === null) return;
  c.record = r;
  c.report.drawn = r.drawn;
  c.report.withheld = r.secrets.filter((s) => s.withheld).map((s) => s.role);
  c.chained(file, r, "freeze", "freeze.txt");
  if (!c.freeze) return;
  const faults = c.faults();
  if (r.drawn < c.opening.event) c.faultAt(file, "drawn", `want drawn not before the event, ${formatTime(c.opening.event)}`);
  checkSecrets(c, r);
  await checkBeacon(c, r);
  checkPlaces(c, r);
  if (c.faults() === faults) c.ok(file, `drawn ${formatTime(r.drawn)}; seed ${r.seed}`);
}

// Step 4: each opened secret hashes to its seal.
function checkSecrets(c, r) {
  const file = "record.txt", seals = c.opening.seals;
  if (r.secrets.length !== seals.length) {
    c.faultAt(file, "secret", `want ${seals.length} secrets, one for each seal of the opening`);
    return;
  }
  for (const [i, s] of r.secrets.entries()) {
    const key = `${s.withheld ? "withheld" : "secret"} ${s.role}`, want = seals[i];
    if (s.role !== want.role) { c.faultAt(file, key, `want the secret of ${want.role} in place ${i + 1}, the opening's order`); return; }
    if (!s.withheld && sha256(sealText(c.report.draw, c.verifier.name, s)) !== want.hash) {
      c.faultAt(file, key, `want the secret of ${s.role} whose seal the opening names`);
      return;
    }
  }
  c.ok(file, "each opened secret is the one that was sealed");
}

// Step 5: the public number.
async function checkBeacon(c, r) {
  const file = "record.txt", chain = c.opening.beacon, b = r.beacon;
  if (chain === "" && b) c.faultAt(file, "beacon", "want no beacon: the opening names none");
  if (chain !== "" && !b) c.fault(file, "want the beacon's signature: the opening names a beacon");
  if (chain === "" || !b) return;
  if (b.round !== c.freeze.round) c.faultAt(file, "beacon", `want round ${c.freeze.round}, as the freeze says`);
  else if (chain !== quicknet.hash) c.unread(file, `beacon not checked: chain ${chain} is not known here`);
  else await compareWithRelays(c, r);
}

async function compareWithRelays(c, r) {
  const file = "record.txt", { round, signature } = r.beacon, at = timeOfRound(round);
  if (r.drawn < at) c.faultAt(file, "drawn", `want drawn not before the round's time, ${formatTime(at)}`);
  const { signatures, silent, answered } = await (c.asked ?? askRelays(c.options.relays, round));
  c.report.relays = { round, answered, of: c.options.relays.length };
  if (signatures.length === 0) c.unread(file, `beacon not checked: no relay answered: ${silent.join("; ")}`);
  else if (signatures.length > 1) c.unread(file, "beacon not checked: its relays do not agree with each other");
  else if (signatures[0] !== signature) c.faultAt(file, "beacon", `the beacon's relays have another signature for round ${round}`);
  else c.remark(file, "the beacon's signature was not verified here; its relays have the same");
}

// Step 6: the seed, and the score and order of every place over all tickets.
function checkPlaces(c, r) {
  const file = "record.txt", text = seedText(c.freezeHash, r), seed = sha256(text);
  if (r.seed !== seed) {
    c.faultAt(file, "seed", `want seed ${seed}, the hash of the seed's text with the lines above`);
    return;
  }
  c.report.seed = seed;
  c.report.seedText = text;
  const lists = c.lists;
  if (lists === null || lists.roll.fault || lists.roll.hash !== c.freeze.roll.hash) return; // said already
  const want = lists.lowest.places();
  if (r.places.length !== want.length) {
    c.fault(file, `want ${want.length} places; there are ${r.places.length}`);
    return;
  }
  for (const [i, p] of want.entries()) {
    if (r.places[i].ticket !== p.ticket || r.places[i].score !== p.score) {
      c.faultAt(file, `place ${p.place}`, `want place ${p.place} ${p.ticket} ${p.score}`);
      return;
    }
  }
  c.report.places = want;
  c.report.line = { scores: lists.shares.all.subarray(0, lists.shares.count), places: want, winners: c.opening.winners,
    own: c.report.found.filter((f) => f.rank).map(({ ticket, line, share, rank }) => ({ ticket, line, share, rank })) };
  c.ok(file, `${r.places.length} places: the lowest scores of all ${lists.roll.count} tickets, in order`);
}

// Steps 1 and 2 for cancelled.txt.
async function checkCancelled(c) {
  const file = "cancelled.txt", x = await c.readNote(file, readCancelled);
  if (x === null) return;
  c.cancelled = x;
  c.report.cancelled = { at: x.at, reason: x.reason, successor: x.successor };
  c.chained(file, x, "opening", "opening.txt");
  if (await c.look("record.txt") === "present") {
    c.fault(file, "stands beside a record: a draw that was made can't be cancelled");
    return;
  }
  c.ok(file, `cancelled ${formatTime(x.at)}, reason ${x.reason}`);
  if (cancelledLate(c)) c.remark(file, "cancelled when the host could already know the result");
}

function cancelledLate(c) { return Boolean(c.freeze) && c.cancelled.at >= c.opening.event; }

// sealText is the text whose hash the opening named.
const sealText = (draw, signer, s) => `evenhand/seal/v1\ndraw ${draw}\nsigner ${signer}\nby ${s.role}\nsecret ${s.value}\n`;

// seedText is the text whose hash is the seed.
function seedText(freezeHash, r) {
  const lines = ["evenhand/seed/v1", `freeze ${freezeHash}`, ...r.secrets.map((s) => s.line)];
  if (r.beacon) lines.push(`beacon ${r.beacon.round} ${randomnessOf(r.beacon.signature)}`);
  return lines.join("\n") + "\n";
}
