// Notes: texts signed as C2SP signed-note describes, with Ed25519. After the
// text come an empty line and signature lines, one of them the signer's.

const maxNote = 1 << 20; // bytes
const maxWitness = 16; // signature lines of other names
const dash = "\u00e2\u0080\u0094 "; // an em dash and a space, as UTF-8, begin a signature line

// base64 reads standard, padded base64, or answers null. strict also wants the
// unused bits of the last character to be zero.
function base64(s, strict) {
  if (s.length % 4 !== 0 || !/^[A-Za-z0-9+/]*={0,2}$/.test(s)) return null;
  const raw = textOf(bytesOf(atob(s)));
  return strict && btoa(raw) !== s ? null : bytesOf(raw);
}

const hexOf = (bytes) => Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");

// parseVerifier reads a verifier key, <name>+<key id>+<base64>. It answers
// {name, id, key, text} or {wrong: what was expected}.
function parseVerifier(text) {
  const [name, id, b64] = cut(text, "+", 3), raw = base64(b64 ?? "", false);
  const wellFormed = raw !== null && raw.length > 0 && /^[0-9A-Fa-f]{8}$/.test(id) && validName(name);
  if (!wellFormed || keyID(name, raw) !== id.toLowerCase() || raw[0] !== 1 || raw.length !== 33) {
    return { wrong: "want a verifier key <name>+<key id>+<key> as signed-note writes it, the id fitting name and key" };
  }
  if (base64(b64, true) === null) return { wrong: "want an Ed25519 verifier key in padded base64" };
  if (!validSigner(name) || id !== id.toLowerCase()) return { wrong: "want a lower-case host name and 8 lower-case hex digits before the key" };
  if (!soundKey(raw.subarray(1))) return { wrong: "want a canonical public key that is not of small order" };
  return { name, id, key: raw.subarray(1), text };
}

const validName = (s) => s !== "" && !s.includes("+") && !/\s/.test(s);

// keyID is the first 8 hex digits of SHA-256 of name, LF and key.
const keyID = (name, raw) => sha256(name + "\n" + textOf(raw)).slice(0, 8);

// cut splits at the first few marks only.
function cut(s, mark, parts) {
  const out = [];
  while (out.length < parts - 1 && s.includes(mark)) {
    out.push(s.slice(0, s.indexOf(mark)));
    s = s.slice(s.indexOf(mark) + mark.length);
  }
  return [...out, s];
}

const linesBefore = (data, at) => data.slice(0, at).split("\n").length - 1;

// noteText is the text of a note whose signatures nobody has looked at.
function noteText(file, data) {
  const end = data.lastIndexOf("\n\n");
  if (data.length > maxNote) throw new WrongForm(file, 0, "want a note of 1 MiB at most");
  if (data.includes("\r")) throw new WrongForm(file, 1 + linesBefore(data, data.indexOf("\r")), "want lines that end in LF alone; here is a CR");
  if (data.endsWith("\n\n")) {
    throw new WrongForm(file, linesBefore(data, data.length), "want a signature line here, and the file's end after the last one; this line is empty");
  }
  if (end < 0) throw new WrongForm(file, 0, "want a signed note: a text, an empty line, signature lines");
  return data.slice(0, end + 1);
}

// openNote answers the text of a note that the verifier signed.
function openNote(file, data, verifier) {
  const text = noteText(file, data), signature = ownSignature(file, data, text, verifier);
  const odd = /[\0-\x09\x0b-\x1f]/.test(data) || utf8(data) === null;
  if (odd || !verifySignature(verifier.key, bytesOf(text), signature.subarray(4))) {
    throw new WrongForm(file, 0, `want a signature of ${verifier.text}; the one here does not verify`);
  }
  return text;
}

// ownSignature checks the form of every signature line, and that exactly one
// bears the signer's name and key id.
function ownSignature(file, data, text, verifier) {
  let line = linesBefore(text, text.length) + 1, own = null, mine = 0, others = 0;
  const rest = data.slice(text.length + 1);
  if (!rest.endsWith("\n")) throw new WrongForm(file, 0, "want a line end (LF) after the last signature line");
  for (const s of rest.slice(0, -1).split("\n")) {
    line++;
    const [name, raw] = signatureLine(file, line, s);
    if (name !== verifier.name) { others++; continue; }
    mine++;
    if (raw.length !== 4 + 64 || hexOf(raw.subarray(0, 4)) !== verifier.id) {
      throw new WrongForm(file, line, `want a signature of key id ${verifier.id}, as the opening names it`);
    }
    own = raw;
  }
  if (mine !== 1) throw new WrongForm(file, line, `want exactly one signature line of ${verifier.name}; there are ${mine}`);
  if (others > maxWitness) throw new WrongForm(file, line, `want ${maxWitness} signature lines of other names at most`);
  return own;
}

// signatureLine reads "— <name> <base64>".
function signatureLine(file, line, s) {
  const fail = (want) => { throw new WrongForm(file, line, want); };
  const [name, b64] = cut(s.slice(dash.length), " ", 2);
  if (!s.startsWith(dash) || b64 === undefined || name === "" || !printable(name) || name.includes("+")) {
    fail('want a signature line "— <name> <base64>"');
  }
  const raw = base64(b64, true) ?? fail("want standard, padded base64 with unused bits zero");
  if (raw.length < 5) fail("want a signature after the four bytes of the key id");
  return [name, raw];
}
