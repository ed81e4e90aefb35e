// SHA-256 and SHA-512 (FIPS 180-4). Their constants are not typed in here but
// computed as the standard says: the first bits of the fractional parts of the
// square and cube roots of the first primes (sections 4.2.2 to 5.3.5).

const primes = [];
for (let n = 2; primes.length < 80; n++) if (primes.every((p) => n % p !== 0)) primes.push(n);

// root is the whole part of the k-th root of a BigInt.
function root(x, k) {
  let low = 0n, high = 1n << BigInt(Math.ceil(x.toString(2).length / k));
  while (low < high) {
    const middle = (low + high + 1n) >> 1n;
    if (middle ** BigInt(k) <= x) low = middle; else high = middle - 1n;
  }
  return low;
}

// fraction64 is the first 64 bits of the fractional part of the k-th root of n.
const fraction64 = (n, k) => BigInt.asUintN(64, root(BigInt(n) << BigInt(64 * k), k));
const top32 = (x) => Number(x >> 32n) | 0, low32 = (x) => Number(x & 0xffffffffn) | 0;

const cubes = primes.map((p) => fraction64(p, 3)), squares = primes.slice(0, 8).map((p) => fraction64(p, 2));
const k256 = Int32Array.from(cubes.slice(0, 64), top32), start256 = Int32Array.from(squares, top32);

// compress takes the block in w[0] to w[15] into the state h (section 6.2.2).
function compress(h, w) {
  for (let t = 16; t < 64; t++) {
    const x = w[t - 15], y = w[t - 2];
    w[t] = (w[t - 16] + w[t - 7] +
      ((x >>> 7 | x << 25) ^ (x >>> 18 | x << 14) ^ x >>> 3) +
      ((y >>> 17 | y << 15) ^ (y >>> 19 | y << 13) ^ y >>> 10)) | 0;
  }
  let a = h[0], b = h[1], c = h[2], d = h[3], e = h[4], f = h[5], g = h[6], i = h[7];
  for (let t = 0; t < 64; t++) {
    const one = (i + ((e >>> 6 | e << 26) ^ (e >>> 11 | e << 21) ^ (e >>> 25 | e << 7)) + (g ^ e & (f ^ g)) + k256[t] + w[t]) | 0;
    const two = (((a >>> 2 | a << 30) ^ (a >>> 13 | a << 19) ^ (a >>> 22 | a << 10)) + (a & b | c & (a | b))) | 0;
    i = g; g = f; f = e; e = (d + one) | 0;
    d = c; c = b; b = a; a = (one + two) | 0;
  }
  h[0] += a; h[1] += b; h[2] += c; h[3] += d; h[4] += e; h[5] += f; h[6] += g; h[7] += i;
}

// word reads four bytes, the first one highest.
const word = (b, at) => b[at] << 24 | b[at + 1] << 16 | b[at + 2] << 8 | b[at + 3];

// A Sha256 takes bytes as they come.
class Sha256 {
  constructor() {
    this.h = start256.slice();
    this.w = new Int32Array(64);
    this.rest = new Uint8Array(64); // the bytes of a block that is not full yet
    this.length = 0;
  }

  update(bytes) {
    let at = 0, have = this.length % 64;
    this.length += bytes.length;
    if (have > 0) {
      at = Math.min(64 - have, bytes.length);
      this.rest.set(bytes.subarray(0, at), have);
      if (have + at < 64) return this;
      this.block(this.rest, 0);
    }
    for (; at + 64 <= bytes.length; at += 64) this.block(bytes, at);
    this.rest.set(bytes.subarray(at), 0);
    return this;
  }

  block(bytes, at) {
    for (let t = 0; t < 16; t++) this.w[t] = word(bytes, at + 4 * t);
    compress(this.h, this.w);
  }

  // hex ends the hash. The padding is a 1 bit, zeros, and the length in bits.
  hex() {
    const have = this.length % 64, pad = new Uint8Array(have < 56 ? 64 - have : 128 - have), bits = this.length * 8;
    pad[0] = 0x80;
    const view = new DataView(pad.buffer);
    view.setUint32(pad.length - 8, Math.floor(bits / 2 ** 32));
    view.setUint32(pad.length - 4, bits >>> 0);
    this.update(pad);
    return hexOfWords(this.h);
  }
}

const hexOfWords = (h) => Array.from(h, (x) => (x >>> 0).toString(16).padStart(8, "0")).join("");

// sha256 is the hash of a text, 64 hex digits.
const sha256 = (text) => new Sha256().update(bytesOf(text)).hex();

// A Scorer computes scores: SHA-256 of the 64 hex digits of the seed and the 16
// characters of a ticket. The seed fills one block of 64 bytes exactly, so the
// state after it is kept; each ticket then costs one more block.
class Scorer {
  constructor(seed) {
    this.after = new Sha256().update(bytesOf(seed)).h;
    this.h = new Int32Array(8);
    this.w = new Int32Array(64);
  }

  // score of the ticket whose 16 bytes are these four words; the answer in h
  // holds until the next call.
  score(w0, w1, w2, w3) {
    const w = this.w;
    w[0] = w0; w[1] = w1; w[2] = w2; w[3] = w3;
    w[4] = 0x80000000 | 0; // the end of the text
    for (let t = 5; t < 15; t++) w[t] = 0;
    w[15] = 80 * 8; // its length in bits
    this.h.set(this.after);
    compress(this.h, w);
    return this.h;
  }
}

// SHA-512 works like SHA-256 with words of 64 bits, held here as two halves.
// Only signatures need it.
const k512 = cubes.map((x) => [top32(x), low32(x)]).flat(), start512 = squares.map((x) => [top32(x), low32(x)]).flat();

function sha512(bytes) {
  const padded = new Uint8Array(Math.ceil((bytes.length + 17) / 128) * 128);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  new DataView(padded.buffer).setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
  new DataView(padded.buffer).setUint32(padded.length - 4, bytes.length * 8 >>> 0);
  const h = Int32Array.from(start512), w = new Int32Array(160);
  for (let at = 0; at < padded.length; at += 128) compress512(h, w, padded, at);
  const out = new Uint8Array(64), view = new DataView(out.buffer);
  h.forEach((x, i) => view.setInt32(4 * i, x));
  return out;
}

// Rotating and shifting a 64-bit word right; the first answers its upper half,
// and with the halves exchanged its lower one.
const turn = (a, b, n) => n < 32 ? a >>> n | b << (32 - n) : n === 32 ? b : b >>> (n - 32) | a << (64 - n);
const carry = (low) => Math.floor(low / 2 ** 32);

function compress512(h, w, bytes, at) {
  for (let t = 0; t < 32; t++) w[t] = word(bytes, at + 4 * t);
  for (let t = 32; t < 160; t += 2) {
    const xh = w[t - 30], xl = w[t - 29], yh = w[t - 4], yl = w[t - 3];
    const s0l = turn(xl, xh, 1) ^ turn(xl, xh, 8) ^ (xl >>> 7 | xh << 25), s0h = turn(xh, xl, 1) ^ turn(xh, xl, 8) ^ xh >>> 7;
    const s1l = turn(yl, yh, 19) ^ turn(yl, yh, 61) ^ (yl >>> 6 | yh << 26), s1h = turn(yh, yl, 19) ^ turn(yh, yl, 61) ^ yh >>> 6;
    const low = (w[t - 31] >>> 0) + (s0l >>> 0) + (w[t - 13] >>> 0) + (s1l >>> 0);
    w[t + 1] = low | 0;
    w[t] = (w[t - 32] + s0h + w[t - 14] + s1h + carry(low)) | 0;
  }
  let [ah, al, bh, bl, ch, cl, dh, dl, eh, el, fh, fl, gh, gl, ih, il] = h;
  for (let t = 0; t < 160; t += 2) {
    const s1h = turn(eh, el, 14) ^ turn(eh, el, 18) ^ turn(eh, el, 41), s1l = turn(el, eh, 14) ^ turn(el, eh, 18) ^ turn(el, eh, 41);
    const low1 = (il >>> 0) + (s1l >>> 0) + ((gl ^ el & (fl ^ gl)) >>> 0) + (k512[t + 1] >>> 0) + (w[t + 1] >>> 0);
    const high1 = (ih + s1h + (gh ^ eh & (fh ^ gh)) + k512[t] + w[t] + carry(low1)) | 0;
    const s0h = turn(ah, al, 28) ^ turn(ah, al, 34) ^ turn(ah, al, 39), s0l = turn(al, ah, 28) ^ turn(al, ah, 34) ^ turn(al, ah, 39);
    const low2 = (s0l >>> 0) + ((al & bl | cl & (al | bl)) >>> 0);
    const high2 = (s0h + (ah & bh | ch & (ah | bh)) + carry(low2)) | 0;
    ih = gh; il = gl; gh = fh; gl = fl; fh = eh; fl = el;
    const lowE = (dl >>> 0) + low1 % 2 ** 32;
    eh = (dh + high1 + carry(lowE)) | 0; el = lowE | 0;
    dh = ch; dl = cl; ch = bh; cl = bl; bh = ah; bl = al;
    const lowA = low1 % 2 ** 32 + low2 % 2 ** 32;
    ah = (high1 + high2 + carry(lowA)) | 0; al = lowA | 0;
  }
  [ah, al, bh, bl, ch, cl, dh, dl, eh, el, fh, fl, gh, gl, ih, il].forEach((x, i, all) => {
    if (i % 2 === 1) return;
    const low = (h[i + 1] >>> 0) + (all[i + 1] >>> 0);
    h[i] = (h[i] + x + carry(low)) | 0;
    h[i + 1] = low | 0;
  });
}
