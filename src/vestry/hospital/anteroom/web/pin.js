// Badge and PIN without a network: the bundle holds a slow hash for whoever may lead its entry on this tablet.

function bytes(hex) {
  return new Uint8Array(hex.match(/../g)?.map((pair) => parseInt(pair, 16)) ?? []);
}

/** Whether this PIN is the one of the hash. */
export async function fits(pin, { salt, rounds, hash }) {
  const key = await crypto.subtle.importKey("raw", new TextEncoder().encode(pin), "PBKDF2", false, ["deriveBits"]);
  const made = await crypto.subtle.deriveBits(
    { name: "PBKDF2", hash: "SHA-256", salt: bytes(salt), iterations: rounds }, key, 256,
  );
  const wanted = bytes(hash);
  return new Uint8Array(made).reduce((same, byte, place) => same && byte === wanted[place], wanted.length === 32);
}

const MOST = 6;
const WINDOW = 15 * 60_000;

/** Wrong tries of late, kept so that a reload does not forget them. */
export async function tooMany(keeping, now = Date.now()) {
  const tries = ((await keeping.meta("wrong-pins")) ?? []).filter((at) => Math.abs(now - at) < WINDOW);
  return tries.length >= MOST;
}

export async function failed(keeping, now = Date.now()) {
  const tries = ((await keeping.meta("wrong-pins")) ?? []).filter((at) => Math.abs(now - at) < WINDOW);
  await keeping.setMeta({ "wrong-pins": [...tries, now].slice(-MOST) });
}

/** Who of these this is; null where badge and PIN fit nobody. */
export async function whoOf(people, badge, pin) {
  for (const person of people) {
    if (person.badge === badge && person.pin && (await fits(pin, person.pin))) return person;
  }
  return null;
}

/** Who this is, among the people of the bundles that are carried; null where badge and PIN fit nobody. */
export async function whoIs(bundles, badge, pin) {
  return whoOf(bundles.flatMap((one) => one.people), badge, pin);
}
