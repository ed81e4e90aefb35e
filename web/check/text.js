// The exact form of texts: printable ASCII, lines that end in LF, fields one
// space apart, keys in the order given (protocol, "Conventions"). A text that
// departs from it is refused, with the line and what was expected there.

// Texts are strings with one character for each byte.
function textOf(bytes) {
  let out = "";
  for (let at = 0; at < bytes.length; at += 8192) out += String.fromCharCode.apply(null, bytes.subarray(at, at + 8192));
  return out;
}

function bytesOf(text) {
  const out = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) out[i] = text.charCodeAt(i);
  return out;
}

// utf8 reads the bytes of a text as UTF-8, or answers null.
function utf8(text) {
  try { return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytesOf(text)); } catch { return null; }
}

const byteOrderMark = "\u00ef\u00bb\u00bf";
const printable = (s) => /^[\x20-\x7e]*$/.test(s);
const quoted = (s) => JSON.stringify(s); // of printable ASCII

// A WrongForm says where a text departs from its form; line 0 is the whole file.
class WrongForm extends Error {
  constructor(file, line, want) { super(want); this.file = file; this.line = line; }
}

// A WrongLine is about the line of a text that begins with key.
class WrongLine extends Error {
  constructor(key, want) { super(want); this.key = key; }
}

// lineOf is the number of the first line that begins with key, or 0.
function lineOf(text, key) {
  const lines = (text ?? "").split("\n");
  return lines.findIndex((line) => line.startsWith(key + " ")) + 1;
}

// A Reader goes through a text line by line. What is not as expected is thrown.
class Reader {
  constructor(file, text) { this.file = file; this.rest = text; this.n = 0; this.utf8 = false; }

  fail(want) { throw new WrongForm(this.file, this.n, want); }

  next(want) {
    this.n++;
    const end = this.rest.indexOf("\n"), line = end < 0 ? this.rest : this.rest.slice(0, end);
    if (this.rest === "") this.fail(`want ${want}; the text ends here`);
    if (line.includes("\r")) this.fail("want lines that end in LF alone; here is a CR");
    if (end < 0) this.fail("want a line end (LF) after the last line");
    if (this.n === 1 && line.startsWith(byteOrderMark)) this.fail(`want ${want}; a byte-order mark stands before it`);
    if (!this.utf8 && !printable(line)) this.fail(`want ${want} in printable ASCII; here is another character`);
    if (line === "") this.fail(`want ${want}; this line is empty`);
    if (line.endsWith(" ")) this.fail("want no space at the end of the line");
    if (line[0] === " " || line.includes("  ")) this.fail(`want ${want}, its parts one space apart`);
    this.rest = this.rest.slice(end + 1);
    return line;
  }

  // literal wants exactly this line.
  literal(want) { if (this.next(quoted(want)) !== want) this.fail(`want ${quoted(want)}`); }

  // at tells whether the next line begins with this key.
  at(key) { return this.rest.startsWith(key + " "); }

  // fields reads one line: the key, then as many values as there are names.
  fields(key, ...names) {
    const form = `${key} <${names.join("> <")}>`, got = this.next(quoted(form)).split(" ");
    if (got.length !== names.length + 1 || got[0] !== key) this.fail(`want ${quoted(form)}`);
    return got.slice(1);
  }

  value(key, name) { return this.fields(key, name)[0]; }

  end() {
    if (this.rest === "") return;
    this.n++;
    this.fail("want the end of the text; this line is too many, or not in its place");
  }

  asDigest(s) { return /^[0-9a-f]{64}$/.test(s) ? s : this.fail("want 64 lower-case hex digits"); }
  digest(key, name) { return this.asDigest(this.value(key, name)); }

  asTime(s) {
    const t = parseTime(s);
    return t ?? this.fail("want a time such as 2006-01-02T15:04:05Z, from the year 2000");
  }
  time(key) { return this.asTime(this.value(key, "time")); }

  asNumber(s, least) {
    if (!/^(0|[1-9][0-9]{0,14})$/.test(s)) this.fail("want a number of up to 15 digits without a leading zero");
    if (Number(s) < least) this.fail(`want a number of ${least} or more`);
    return Number(s);
  }
  number(key, least) { return this.asNumber(this.value(key, "n"), least); }

  id(key) {
    const s = this.value(key, "draw id");
    return validID(s) ? s : this.fail("want a draw id: a-z, 0-9 and inner hyphens, 64 characters at most");
  }

  asRole(s, what) {
    if (!/^[a-z]([a-z0-9-]{0,30}[a-z0-9])?$/.test(s)) this.fail(`want ${what}: a-z first, then a-z, 0-9 and inner hyphens, 32 characters at most`);
    return s;
  }

  asTicket(s) {
    if (s.length !== 16) this.fail("want a ticket of 16 characters");
    if (!/^[0-9A-HJKMNP-TV-Z]{16}$/.test(s)) this.fail(`want a ticket of 16 characters of ${ticketLetters}`);
    return s;
  }
}

const ticketLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"; // Crockford's base32
const validID = (s) => /^[a-z0-9]([a-z0-9-]{0,62}[a-z0-9])?$/.test(s);
const validSigner = (s) => /^[a-z0-9]([a-z0-9.-]{0,251}[a-z0-9])?$/.test(s);

// grouped is a ticket as people read it: K7QF-2M9X-4RTB-W8ZC.
const grouped = (ticket) => ticket.match(/.{4}/g).join("-");

// readTicket takes what a person typed; null is no ticket.
function readTicket(s) {
  const t = s.toUpperCase().replace(/[-\s]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1");
  return /^[0-9A-HJKMNP-TV-Z]{16}$/.test(t) ? t : null;
}

// Times are whole seconds since 1970, UTC.
function parseTime(s) {
  if (!/^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z$/.test(s)) return null;
  const [year, month, day, hour, minute, second] = s.split(/[^0-9]/).map(Number);
  const t = Date.UTC(year, month - 1, day, hour, minute, second) / 1000;
  return year >= 2000 && formatTime(t) === s ? t : null;
}

// formatTime prints a time. It counts days itself: a round's time may lie
// beyond what Date can hold.
function formatTime(t) {
  const two = (n) => String(n).padStart(2, "0");
  const days = Math.floor(t / 86400), second = t - days * 86400;
  const cycles = Math.floor(days / 146097), date = new Date((days - cycles * 146097) * 86400000); // 400 years have 146,097 days
  const year = String(date.getUTCFullYear() + 400 * cycles).padStart(4, "0");
  return `${year}-${two(date.getUTCMonth() + 1)}-${two(date.getUTCDate())}T` +
    `${two(Math.floor(second / 3600))}:${two(Math.floor(second / 60) % 60)}:${two(second % 60)}Z`;
}

// formatSpan prints seconds as 1h2m3s.
function formatSpan(seconds) {
  const h = Math.floor(seconds / 3600), m = Math.floor(seconds / 60) % 60, s = `${seconds % 60}s`;
  return h > 0 ? `${h}h${m}m${s}` : m > 0 ? `${m}m${s}` : s;
}

// listed joins with commas and "and".
const listed = (all) => all.length < 2 ? all.join("") : `${all.slice(0, -1).join(", ")} and ${all.at(-1)}`;
