// The lists: roll.txt, a line "<ticket> <commitment>" for each ticket in the
// draw, and excluded.txt, a line "<ticket> <reason>" for each that is not. Both
// are gone over once, side by side, as they come; a list of a million lines is
// never held.

const rollLine = 16 + 1 + 64 + 1; // bytes: ticket, space, 64 hex digits, LF
const blockLines = 4096; // lines of the roll that are looked at in one go
const rollForm = 'want "<ticket> <commitment>": 16 characters, a space, 64 lower-case hex digits, LF';
const excludedForm = 'want "<ticket> <reason>": 16 characters, a space, one of duplicate, unconfirmed, region, withdrawn, ineligible, LF';
const wantAscending = "want the tickets in strictly ascending order, each once";
const reasons = ["duplicate", "unconfirmed", "region", "withdrawn", "ineligible"];
const LF = 10, CR = 13, SPACE = 32;

const marks = (letters) => { const ok = new Uint8Array(256); for (const b of bytesOf(letters)) ok[b] = 1; return ok; };
const isBase32 = marks(ticketLetters), isHex = marks("0123456789abcdef");

// rowFault names what is easy to overlook.
function rowFault(row, otherwise) {
  const end = row.indexOf(LF);
  if (end > 0 && row[end - 1] === CR || row.at(-1) === CR) return "want lines that end in LF alone; here is a CR";
  if (row[0] === LF) return "want no empty line";
  if (textOf(row.subarray(0, 3)) === byteOrderMark) return "want a ticket first; a byte-order mark stands before it";
  return otherwise;
}

// A Lists is one pass over both lists. Set what is wanted, call run, read what
// was seen. seed "" means that there are no scores yet.
class Lists {
  constructor({ seed, places, wanted, progress }) {
    this.scorer = seed ? new Scorer(seed) : null;
    this.wanted = wanted.slice().sort(); // tickets whose standing is asked for
    this.asked = new Set(wanted);
    this.lowest = new Lowest(places);
    this.progress = progress;
    this.roll = { count: 0, hash: "", fault: null };
    this.excluded = { count: 0, hash: "", fault: null };
    this.found = new Map(); // ticket → {in, line, commitment} or {in, line, reason}
    this.ranks = this.scorer === null ? [] : wanted.map((ticket) => new Rank(this.scorer, ticket));
    this.shares = new Shares();
    this.last = null; // the last ticket of the block before
  }

  // run takes two functions that answer the next bytes, null at the end.
  async run(nextOfRoll, nextOfExcluded) {
    const hash = new Sha256(), block = new Uint8Array(blockLines * rollLine), excluded = new ExcludedList(nextOfExcluded);
    for await (const length of blocks(nextOfRoll, block)) {
      const data = block.subarray(0, length);
      this.roll.fault = this.checkBlock(data);
      if (this.roll.fault) break;
      hash.update(data);
      await excluded.upTo(this, textOf(this.last), data);
      this.progress(this.roll.count);
    }
    await excluded.upTo(this, "", null);
    this.roll.hash = hash.hex();
  }

  // checkBlock goes over a run of lines: form, order, scores.
  checkBlock(data) {
    const first = this.roll.count + 1;
    let last0 = -1, last1 = 0, last2 = 0, last3 = 0, line = first;
    for (let at = 0; at < data.length; at += rollLine, line++) {
      if (!rightLine(data, at)) return { line, want: rowFault(data.subarray(at, at + rollLine), rollForm) };
      const w0 = word(data, at), w1 = word(data, at + 4), w2 = word(data, at + 8), w3 = word(data, at + 12); // ASCII: never negative
      if (w0 < last0 || w0 === last0 && (w1 < last1 || w1 === last1 && (w2 < last2 || w2 === last2 && w3 <= last3))) {
        return { line, want: wantAscending };
      }
      last0 = w0; last1 = w1; last2 = w2; last3 = w3;
      if (this.scorer !== null) this.take(this.scorer.score(w0, w1, w2, w3), data, at, line);
    }
    if (this.last !== null && textOf(this.last) >= textOf(data.subarray(0, 16))) return { line: first, want: wantAscending };
    this.last = data.slice(data.length - rollLine, data.length - rollLine + 16);
    this.roll.count += data.length / rollLine;
    this.look(data, first);
    return null;
  }

  take(score, data, at, line) {
    this.shares.push(score);
    this.lowest.offer(score, data, at, line);
    for (const r of this.ranks) if (lessWords(score, r.score)) r.before++;
  }

  // look finds the wanted tickets that a block may hold.
  look(data, first) {
    for (const last = textOf(this.last); this.wanted.length > 0 && this.wanted[0] <= last; this.wanted.shift()) {
      const i = findLine(data, this.wanted[0]);
      if (i < 0) continue;
      const row = textOf(data.subarray(i * rollLine, (i + 1) * rollLine));
      this.found.set(this.wanted[0], { in: true, line: first + i, commitment: row.slice(17, 81) });
    }
  }
}

function rightLine(data, at) {
  if (at + rollLine > data.length || data[at + 16] !== SPACE || data[at + rollLine - 1] !== LF) return false;
  for (let i = at; i < at + 16; i++) if (isBase32[data[i]] === 0) return false;
  for (let i = at + 17; i < at + 81; i++) if (isHex[data[i]] === 0) return false;
  return true;
}

// findLine is the index of a ticket's line within a block, or -1.
function findLine(data, ticket) {
  const at = (i) => textOf(data.subarray(i * rollLine, i * rollLine + 16));
  let low = 0, high = data.length / rollLine;
  while (low < high) {
    const middle = low + high >> 1;
    if (at(middle) < ticket) low = middle + 1; else high = middle;
  }
  return low < data.length / rollLine && at(low) === ticket ? low : -1;
}

// blocks fills the block from what comes and yields how much of it is full.
async function* blocks(next, block) {
  let have = 0;
  for (let bytes; (bytes = await next()) !== null;) {
    for (let at = 0; at < bytes.length;) {
      const n = Math.min(block.length - have, bytes.length - at);
      block.set(bytes.subarray(at, at + n), have);
      at += n; have += n;
      if (have === block.length) { yield have; have = 0; }
    }
  }
  if (have > 0) yield have;
}

// firstBytes ends what comes after so many bytes: a list may go on without end.
function firstBytes(next, most) {
  let left = most;
  return async () => {
    const bytes = left > 0 ? await next() : null;
    if (bytes === null) return null;
    const out = bytes.subarray(0, left);
    left -= out.length;
    return out;
  };
}

// firstLines ends what comes after so many lines.
function firstLines(next, most) {
  let left = most;
  return async () => {
    const bytes = left > 0 ? await next() : null;
    if (bytes === null) return null;
    for (let at = bytes.indexOf(LF); at >= 0; at = bytes.indexOf(LF, at + 1)) {
      if (--left === 0) return bytes.subarray(0, at + 1);
    }
    return bytes;
  };
}

// An ExcludedList goes through excluded.txt beside the roll.
class ExcludedList {
  constructor(next) { this.next = next; this.hash = new Sha256(); this.rest = new Uint8Array(0); this.line = 0; this.last = ""; this.pending = null; this.ended = false; }

  // upTo takes the lines up to a ticket, "" for all. block is the part of the
  // roll that ends there.
  async upTo(out, last, block) {
    while (!this.ended) {
      this.pending ??= await this.read(out);
      if (this.pending === null || last !== "" && this.pending.ticket > last) return;
      this.take(out, block);
    }
  }

  take(out, block) {
    const { ticket, reason } = this.pending;
    this.pending = null;
    out.excluded.count++;
    if (block !== null && findLine(block, ticket) >= 0) {
      this.fault(out, `want each ticket in one list; ${ticket} stands in roll.txt too`);
    } else if (out.asked.has(ticket)) {
      out.found.set(ticket, { in: false, line: this.line, reason });
    }
  }

  // read answers the next line, or null at the end or at a fault.
  async read(out) {
    const row = await this.row();
    this.line++;
    if (row.length === 0) {
      out.excluded.hash = this.hash.hex();
      this.ended = true;
      return null;
    }
    if (row.at(-1) !== LF) return this.fault(out, rowFault(row, excludedForm));
    this.hash.update(row);
    const text = textOf(row), ticket = text.slice(0, 16), reason = text.slice(17, -1);
    if (!/^[0-9A-HJKMNP-TV-Z]{16}$/.test(ticket) || text[16] !== " " || !reasons.includes(reason)) {
      return this.fault(out, rowFault(row, excludedForm));
    }
    if (ticket <= this.last) return this.fault(out, wantAscending);
    this.last = ticket;
    return { ticket, reason };
  }

  // row is the next line with its LF; without it where the list, or 64 KiB, end
  // before. Nothing at all is the end.
  async row() {
    for (;;) {
      const end = this.rest.indexOf(LF), most = 1 << 16;
      if (end >= 0 && end < most || this.rest.length >= most) {
        const row = this.rest.subarray(0, Math.min(end >= 0 ? end + 1 : most, most));
        this.rest = this.rest.subarray(row.length);
        return row;
      }
      const bytes = await this.next();
      if (bytes === null) {
        const row = this.rest;
        this.rest = new Uint8Array(0);
        return row;
      }
      this.rest = this.rest.length === 0 ? bytes : joined(this.rest, bytes);
    }
  }

  fault(out, want) {
    out.excluded.fault = { line: this.line, want };
    this.pending = null;
    this.ended = true;
    return null;
  }
}

// lessWords compares two scores, as eight words, highest first.
function lessWords(a, b) {
  for (let i = 0; i < 8; i++) if (a[i] !== b[i]) return a[i] >>> 0 < b[i] >>> 0;
  return false;
}

// A Lowest keeps the k lowest scores: a heap whose root is the highest of them.
class Lowest {
  constructor(k) { this.k = k; this.heap = []; }

  offer(score, data, at, line) {
    const full = this.heap.length === this.k;
    if (this.k === 0 || full && !lessWords(score, this.heap[0].score)) return; // tickets come ascending: a tie goes to the earlier
    const one = { score: score.slice(), ticket: textOf(data.subarray(at, at + 16)), line };
    if (full) { this.heap[0] = one; this.down(); } else { this.heap.push(one); this.up(); }
  }

  above(i, j) { return this.before(this.heap[j], this.heap[i]); }
  before(a, b) { return lessWords(a.score, b.score) || !lessWords(b.score, a.score) && a.ticket < b.ticket; }
  swap(i, j) { [this.heap[i], this.heap[j]] = [this.heap[j], this.heap[i]]; }

  up() {
    for (let i = this.heap.length - 1, parent; i > 0 && this.above(i, parent = i - 1 >> 1); i = parent) this.swap(i, parent);
  }

  down() {
    for (let i = 0, child; (child = 2 * i + 1) < this.heap.length; i = child) {
      if (child + 1 < this.heap.length && this.above(child + 1, child)) child++;
      if (!this.above(child, i)) return;
      this.swap(i, child);
    }
  }

  // places are the lowest in order.
  places() {
    return this.heap.slice().sort((a, b) => this.before(a, b) ? -1 : 1)
      .map((p, i) => ({ place: i + 1, ticket: p.ticket, score: hexOfWords(p.score), line: p.line, share: shareOf(p.score) }));
  }
}

// A Rank counts the tickets that stand before one.
class Rank {
  constructor(scorer, ticket) {
    const b = bytesOf(ticket);
    this.ticket = ticket;
    this.score = scorer.score(word(b, 0), word(b, 4), word(b, 8), word(b, 12)).slice();
    this.before = 0;
  }
}

// shareOf is a score as a number from 0 to below 1: its first 52 bits.
const shareOf = (score) => ((score[0] >>> 0) * 2 ** 20 + (score[1] >>> 12)) / 2 ** 52;

// Shares holds one number for each ticket, in an array that grows.
class Shares {
  constructor() { this.all = new Float64Array(4096); this.count = 0; }

  push(score) {
    if (this.count === this.all.length) {
      const more = new Float64Array(2 * this.count);
      more.set(this.all);
      this.all = more;
    }
    this.all[this.count++] = shareOf(score);
  }
}
