// SHA-256 (FIPS 180-4), for plain http, where browsers keep their own to themselves; else theirs is used.
const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n += 1) if (PRIMES.every((p) => n % p)) PRIMES.push(n);
const part = (x) => ((x - Math.floor(x)) * 2 ** 32) | 0;
const K = PRIMES.map((p) => part(Math.cbrt(p)));
const START = PRIMES.slice(0, 8).map((p) => part(Math.sqrt(p)));
const turn = (x, n) => (x >>> n) | (x << (32 - n));

export function plainSha256(bytes) {
  const long = ((bytes.length + 8) >> 6) * 64 + 64;
  const data = new Uint8Array(long);
  data.set(bytes);
  data[bytes.length] = 0x80;
  const view = new DataView(data.buffer);
  view.setUint32(long - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(long - 4, bytes.length * 8);
  const h = [...START];
  const w = new Int32Array(64);
  for (let at = 0; at < long; at += 64) {
    for (let i = 0; i < 64; i += 1) {
      if (i < 16) w[i] = view.getInt32(at + 4 * i);
      else {
        const s0 = turn(w[i - 15], 7) ^ turn(w[i - 15], 18) ^ (w[i - 15] >>> 3);
        const s1 = turn(w[i - 2], 17) ^ turn(w[i - 2], 19) ^ (w[i - 2] >>> 10);
        w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
      }
    }
    let [a, b, c, d, e, f, g, k] = h;
    for (let i = 0; i < 64; i += 1) {
      const one = (k + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + K[i] + w[i]) | 0;
      const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [k, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
    }
    [a, b, c, d, e, f, g, k].forEach((x, i) => { h[i] = (h[i] + x) | 0; });
  }
  return h.map((x) => (x >>> 0).toString(16).padStart(8, "0")).join("");
}

export async function sha256(bytes) {
  if (!globalThis.crypto || !crypto.subtle) return plainSha256(bytes);
  const found = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...found].map((x) => x.toString(16).padStart(2, "0")).join("");
}

// UUID version 7 (RFC 9562): the millisecond, then chance
export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(now / 2 ** (40 - 8 * i)) & 255;
  bytes[6] = 0x70 | (bytes[6] & 15);
  bytes[8] = 0x80 | (bytes[8] & 63);
  const hex = [...bytes].map((x) => x.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}
