// Why a draw is weak, and what the person who checks knows already.

// Each reason for which a draw is weak is one remark.
function checkWeak(c) {
  const weak = (text) => { c.report.weak = true; c.remark("", text); }, chain = c.opening.beacon;
  if (chain === "") weak("weak: no beacon: whoever holds all secrets could have steered the draw, and no file shows that they are different people");
  else if (chain !== quicknet.hash) weak(`weak: the beacon's chain is not quicknet: ${chain}`);
  const shut = c.report.withheld ?? [];
  if (shut.length === 1) weak(`weak: the secret of ${shut[0]} was withheld: its holder, or the host by claiming it, could choose between two results`);
  if (shut.length > 1) {
    weak(`weak: the secrets of ${listed(shut)} were withheld: their holders, or the host by claiming it, could choose between ${2 ** shut.length} results`);
  }
}

// What the person who checks knows already.
async function checkOptions(c) {
  const o = c.opening, { key, freeze, host, now } = c.options;
  if (o.alternates > 10 * o.winners + 10) c.remark("opening.txt", `${o.alternates} alternates for ${o.winners} winners: the more places, the more can be passed`);
  if (key && key !== o.signer) c.fault("opening.txt", `want the signer ${key}; this is ${o.signer}`);
  if (freeze && await c.look("freeze.txt") !== "unknown" && freeze !== c.freezeHash) c.fault("freeze.txt", `want the freeze whose hash is ${freeze}`);
  if (host && host !== c.verifier.name) c.remark("", `read from ${host}, but signed by ${c.verifier.name}`);
  if (now) await checkNow(c, now);
}

// checkNow looks for what is overdue by the clock of the person who checks.
async function checkNow(c, now) {
  const event = c.opening.event;
  if (await c.look("record.txt") !== "absent" || await c.look("cancelled.txt") !== "absent") return;
  if (await c.look("freeze.txt") === "absent" && now >= event) c.remark("", `the event, ${formatTime(event)}, has come and the list was never frozen`);
  else if (c.freeze && now >= event + 86400) c.remark("", "frozen, but neither drawn nor cancelled 24 hours after the event");
}
