// The tablet's own chain of what it said of an entry: vestry/entry/chains.py, in the browser. At once and without
// crypto.subtle: that one waits, and a database's transaction does not; nor is it there where a page came without HTTPS.

export const FIRST = "0".repeat(64);
const SAID = ["actor", "clock", "counter", "device", "entry", "id", "kind", "payload", "plan"];

/** The event with its salt and the link before it, and `link`, which comes before the next. */
export function sealed(event, salt, previous) {
  const said = Object.fromEntries(SAID.map((name) => [name, event[name]]));
  const commitment = sha256(canonical({ salt, said }));
  return { ...event, salt, previous, link: sha256(canonical({ commitment, previous })) };
}

export function saltByChance() {
  return hex(crypto.getRandomValues(new Uint8Array(16)));
}

/** Canonical JSON (RFC 8785): names in order of their UTF-16 units, nothing between. */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value !== null && typeof value === "object") {
    const names = Object.keys(value).sort();
    return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(",")}}`;
  }
  return JSON.stringify(value);
}

function hex(bytes) {
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// The first 32 bits behind the point of square roots (where it starts) and cube roots (its rounds) of primes, FIPS 180-4.
const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n += 1) if (PRIMES.every((one) => n % one)) PRIMES.push(n);
const behindThePoint = (root) => ((root - Math.floor(root)) * 2 ** 32) | 0;
const START = PRIMES.slice(0, 8).map((one) => behindThePoint(Math.sqrt(one)));
const ROUNDS = PRIMES.map((one) => behindThePoint(Math.cbrt(one)));
const turned = (word, by) => (word >>> by) | (word << (32 - by));

/** SHA-256 of a text in UTF-8, in hexadecimal. */
export function sha256(text) {
  const bytes = new TextEncoder().encode(text);
  const padded = new Uint8Array(Math.ceil((bytes.length + 9) / 64) * 64);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor((bytes.length * 8) / 2 ** 32));
  view.setUint32(padded.length - 4, (bytes.length * 8) >>> 0);
  const state = [...START];
  const words = new Int32Array(64);
  for (let block = 0; block < padded.length; block += 64) {
    for (let n = 0; n < 16; n += 1) words[n] = view.getInt32(block + 4 * n);
    for (let n = 16; n < 64; n += 1) {
      const [a, b] = [words[n - 15], words[n - 2]];
      words[n] = words[n - 16] + words[n - 7] + (turned(a, 7) ^ turned(a, 18) ^ (a >>> 3)) + (turned(b, 17) ^ turned(b, 19) ^ (b >>> 10));
    }
    let [a, b, c, d, e, f, g, h] = state;
    for (let n = 0; n < 64; n += 1) {
      const one = (h + (turned(e, 6) ^ turned(e, 11) ^ turned(e, 25)) + ((e & f) ^ (~e & g)) + ROUNDS[n] + words[n]) | 0;
      const two = ((turned(a, 2) ^ turned(a, 13) ^ turned(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((word, n) => {
      state[n] = (state[n] + word) | 0;
    });
  }
  return state.map((word) => (word >>> 0).toString(16).padStart(8, "0")).join("");
}
