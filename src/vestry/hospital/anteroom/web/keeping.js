// The device's own database: events first here, then on the screen, then to the server. Strict durability: what is told
// as taken is on the disk. vestry's promise ends where this storage ends: a tablet destroyed, or storage cleared.

import { FIRST, saltByChance, sealed } from "./chain.js";

const NAME = "vestry";
const STRICT = { durability: "strict" };

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function ended(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new DOMException("stopped", "AbortError"));
  });
}

/** Open it. Rejects where the browser keeps nothing. `lost` is called when it goes away under our feet. */
export async function openKeeping(lost = () => {}) {
  if (!globalThis.indexedDB) throw new DOMException("no database in this browser", "NotSupportedError");
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    const db = request.result;
    db.createObjectStore("meta");
    db.createObjectStore("bundles", { keyPath: "entry" });
    const events = db.createObjectStore("events", { keyPath: "id" });
    events.createIndex("entry", "entry");
    events.createIndex("kept", "kept");
  };
  const db = await asked(request);
  db.onclose = lost;
  db.onversionchange = () => {
    db.close();
    lost();
  };
  return new Keeping(db);
}

/** An event in the database has `kept`: unsent, sent, refused, or foreign (another device's). */
export class Keeping {
  constructor(db) {
    this.db = db;
  }

  #reading(...stores) {
    return this.db.transaction(stores, "readonly");
  }

  #writing(...stores) {
    return this.db.transaction(stores, "readwrite", STRICT);
  }

  async meta(key) {
    return asked(this.#reading("meta").objectStore("meta").get(key));
  }

  async setMeta(values) {
    const transaction = this.#writing("meta");
    for (const [key, value] of Object.entries(values)) transaction.objectStore("meta").put(value, key);
    await ended(transaction);
  }

  async bundles() {
    return asked(this.#reading("bundles").objectStore("bundles").getAll());
  }

  async bundle(entry) {
    return asked(this.#reading("bundles").objectStore("bundles").get(entry));
  }

  /** Keep a bundle, and count from at least what the server has of this tablet. */
  async keepBundle(bundle, counter) {
    const transaction = this.#writing("bundles", "meta");
    transaction.objectStore("bundles").put(bundle);
    const own = (await asked(transaction.objectStore("meta").get("counter"))) ?? 0;
    transaction.objectStore("meta").put(Math.max(own, counter), "counter");
    await ended(transaction);
  }

  async events(entry) {
    return asked(this.#reading("events").objectStore("events").index("entry").getAll(entry));
  }

  async unsent() {
    const found = await asked(this.#reading("events").objectStore("events").index("kept").getAll("unsent"));
    return found.sort((a, b) => a.counter - b.counter);
  }

  async counts() {
    const index = this.#reading("events").objectStore("events").index("kept");
    return { unsent: await asked(index.count("unsent")), refused: await asked(index.count("refused")) };
  }

  /**
   * Count, chain and store what was said, all or nothing. Resolves when it is on the disk, with the events as they are
   * kept. Chained in the same transaction: two pages of one tablet never make two links after the same one.
   */
  async say(said) {
    const transaction = this.#writing("events", "meta");
    const done = ended(transaction);
    const meta = transaction.objectStore("meta");
    let counter = (await asked(meta.get("counter"))) ?? 0;
    const links = new Map();
    const kept = [];
    for (const one of said) {
      const before = links.get(one.entry) ?? (await asked(meta.get(`link ${one.entry}`))) ?? FIRST;
      const { link, ...event } = sealed({ ...one, counter: (counter += 1) }, saltByChance(), before);
      links.set(one.entry, link);
      kept.push({ ...event, kept: "unsent" });
    }
    for (const one of kept) transaction.objectStore("events").add(one);
    for (const [entry, link] of links) meta.put(link, `link ${entry}`);
    meta.put(counter, "counter");
    await done;
    return kept;
  }

  /** Set down what the server answered: ids that it has, and those that it cannot store, with why. */
  async answered(sent, refused) {
    const transaction = this.#writing("events");
    const store = transaction.objectStore("events");
    for (const [id, change] of [...sent.map((id) => [id, { kept: "sent" }]), ...refused]) {
      const known = await asked(store.get(id));
      if (known && known.kept === "unsent") store.put({ ...known, ...change });
    }
    await ended(transaction);
  }

  /** Keep what other devices said. Our own stays as it is. How many were new. */
  async hear(events, entry, last) {
    const transaction = this.#writing("events", "meta");
    const store = transaction.objectStore("events");
    let fresh = 0;
    for (const event of events) {
      const known = await asked(store.get(event.id));
      if (!known) {
        store.add({ ...event, kept: "foreign" });
        fresh += 1;
      } else if (known.kept === "unsent") {
        store.put({ ...known, kept: "sent" });
      }
    }
    transaction.objectStore("meta").put(last, `last ${entry}`);
    await ended(transaction);
    return fresh;
  }
}

/** A UUID of version 7, from the device's clock and chance. */
export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let left = now;
  for (let place = 5; place >= 0; place -= 1) {
    bytes[place] = left % 256;
    left = Math.floor(left / 256);
  }
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** A moment as every copy of the record writes it. */
export function clockOf(moment) {
  return new Date(moment).toISOString().replace("Z", "+00:00");
}

/**
 * What goes into an event's clock: what the device's clock says, but never before what others are known to have said.
 * A device whose clock is behind would else say its acts before the entry that it heard being opened.
 */
export function clockNow(events, device, now = Date.now()) {
  const heard = events.filter((one) => one.device !== device).map((one) => one.clock);
  return [clockOf(now), ...heard].reduce((latest, one) => (one > latest ? one : latest));
}
