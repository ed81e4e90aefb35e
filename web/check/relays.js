// The public number ("beacon") is a signature that a network of independent
// operators, drand, publishes at a fixed interval. Its own signature scheme
// needs far more mathematics than fits here; the server and the command line
// verify it. This script instead asks the network's public relays what they
// say, and compares.

const quicknet = {
  hash: "52db9ba70e0cc0f6eaf7803dd07447a1f5477735fd3f661792ba94600c84e971",
  period: 3, // seconds
  genesis: 1692803367, // 2023-08-23T15:09:27Z, the time of round 1
};

// The relays of the drand project, and Cloudflare's
// (https://docs.drand.love/developer/http-api).
const publicRelays = ["https://api.drand.sh", "https://api2.drand.sh", "https://api3.drand.sh", "https://drand.cloudflare.com"];
const relayPatience = 8000; // milliseconds

const timeOfRound = (round) => quicknet.genesis + (round - 1) * quicknet.period;

// roundAt is the first round whose time is not before t.
const roundAt = (t) => t <= quicknet.genesis ? 1 : Math.ceil((t - quicknet.genesis) / quicknet.period) + 1;

// askRelays asks all of them at once. It answers {signatures, silent}: what
// those said that answered, and why the others did not.
async function askRelays(relays, round) {
  const answers = await Promise.all(relays.map(async (relay) => {
    try { return { signature: await askRelay(relay, round) }; } catch (e) { return { silent: `${relay}: ${e.message}` }; }
  }));
  const signatures = [...new Set(answers.map((a) => a.signature).filter(Boolean))];
  return { signatures, silent: answers.map((a) => a.silent).filter(Boolean), answered: answers.filter((a) => a.signature).length };
}

async function askRelay(relay, round) {
  const stop = new AbortController(), timer = setTimeout(() => stop.abort(), relayPatience);
  try {
    const answer = await fetch(`${relay}/${quicknet.hash}/public/${round}`,
      { signal: stop.signal, credentials: "omit", referrerPolicy: "no-referrer", cache: "no-store" });
    if (answer.status !== 200) throw new Error(`status ${answer.status}`);
    const said = await answer.json();
    const fits = said.round === round && /^[0-9a-f]{96}$/.test(said.signature) &&
      (said.randomness === undefined || said.randomness === randomnessOf(said.signature));
    if (!fits) throw new Error("no well-formed answer");
    return said.signature;
  } catch (e) {
    throw new Error(stop.signal.aborted ? "no answer in time" : e instanceof TypeError ? "not reached" : e.message);
  } finally {
    clearTimeout(timer);
  }
}

// randomnessOf is what enters the seed: SHA-256 of the signature's 48 bytes.
function randomnessOf(signature) {
  return sha256(signature.match(/../g).map((b) => String.fromCharCode(parseInt(b, 16))).join(""));
}
