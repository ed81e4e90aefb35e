// Ed25519 signatures (RFC 8032), verified without cofactor and with S < L, as
// Go, OpenSSL and browsers do. Nothing here is secret, so plain big numbers do.

const P = 2n ** 255n - 19n; // the field
const L = 2n ** 252n + 27742317777372353535851937790883648493n; // the order of the base point
const mod = (x, m = P) => { const r = x % m; return r < 0n ? r + m : r; };

function power(x, e) {
  let out = 1n;
  for (x = mod(x); e > 0n; e >>= 1n, x = x * x % P) if (e & 1n) out = out * x % P;
  return out;
}

const D = mod(-121665n * power(121666n, P - 2n)); // of the curve −x² + y² = 1 + d x² y²
const rootOfMinusOne = power(2n, (P - 1n) / 4n);

// Points are [X, Y, Z, T] with x = X/Z, y = Y/Z, x y = T/Z (section 5.1.4).
const identity = [0n, 1n, 1n, 0n];

function add([x1, y1, z1, t1], [x2, y2, z2, t2]) {
  const a = (y1 - x1) * (y2 - x2) % P, b = (y1 + x1) * (y2 + x2) % P, c = 2n * D * t1 % P * t2 % P, d = 2n * z1 * z2 % P;
  const e = b - a, f = d - c, g = d + c, h = b + a;
  return [e * f % P, g * h % P, f * g % P, e * h % P];
}

function times(n, point) {
  let out = identity;
  for (const bit of n.toString(2)) {
    out = add(out, out);
    if (bit === "1") out = add(out, point);
  }
  return out;
}

// little reads a number whose first byte is the lowest.
const little = (bytes) => bytes.reduceRight((n, b) => n << 8n | BigInt(b), 0n);

// decodePoint finds the point of 32 bytes (section 5.1.3), or null. It takes
// the one canonical form of each point only.
function decodePoint(bytes) {
  const all = little(bytes), sign = all >> 255n, y = all & (1n << 255n) - 1n;
  if (y >= P) return null;
  const u = mod(y * y - 1n), v = mod(D * y * y + 1n), v3 = v * v % P * v % P, v7 = v3 * v3 % P * v % P;
  let x = u * v3 % P * power(u * v7, (P - 5n) / 8n) % P;
  const check = v * x % P * x % P;
  if (check === mod(-u)) x = x * rootOfMinusOne % P;
  else if (check !== u) return null;
  if (x === 0n && sign === 1n) return null;
  if ((x & 1n) !== sign) x = P - x;
  return [x, y, 1n, x * y % P];
}

function encodePoint([x, y, z]) {
  const inverse = power(z, P - 2n), affineX = mod(x * inverse), affineY = mod(y * inverse);
  let n = affineY | (affineX & 1n) << 255n;
  return Uint8Array.from({ length: 32 }, () => { const b = Number(n & 255n); n >>= 8n; return b; });
}

const same = (a, b) => a.length === b.length && a.every((x, i) => x === b[i]);
const basePoint = decodePoint(Uint8Array.from({ length: 32 }, (_, i) => i === 0 ? 0x58 : 0x66));

// soundKey tells whether 32 bytes are the canonical form of a point that is not
// of small order: for those anyone could sign.
function soundKey(key) {
  const point = decodePoint(key);
  return point !== null && !same(encodePoint(times(8n, point)), encodePoint(identity));
}

// verifySignature: is [S]B − [k]A the point R that the signature begins with?
function verifySignature(key, message, signature) {
  const a = decodePoint(key), r = signature.subarray(0, 32), s = little(signature.subarray(32));
  if (a === null || signature.length !== 64 || s >= L) return false;
  const k = little(sha512(joined(r, key, message))) % L;
  const minusA = [mod(-a[0]), a[1], a[2], mod(-a[3])];
  return same(encodePoint(add(times(s, basePoint), times(k, minusA))), r);
}

function joined(...parts) {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let at = 0;
  for (const p of parts) { out.set(p, at); at += p.length; }
  return out;
}
