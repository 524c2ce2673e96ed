// To the server when it can be reached: any order, any number of times, same result. The server answers which ids it has.

import { language } from "./say.js";

const AT_ONCE = 50;
const PATIENCE = 10_000;
const EVERY = 3_000;

/** Ask the server as this tablet. Rejects without a network; else {status, body}. */
export async function ask(path, { token, identified, body, patience = PATIENCE } = {}) {
  const headers = { Accept: "application/json", "Vestry-Language": language };
  if (token) headers.Authorization = `Vestry-Tablet ${token}`;
  if (identified) headers["Vestry-Identified"] = identified;
  if (body !== undefined) headers["Content-Type"] = "application/json";
  const answer = await fetch(path, {
    method: body === undefined ? "GET" : "POST",
    headers,
    body: body === undefined ? undefined : JSON.stringify(body),
    cache: "no-store",
    credentials: "omit",
    signal: AbortSignal.timeout(patience),
  });
  let read = null;
  try {
    read = await answer.json();
  } catch {
    // Not JSON: something stands between us and the server, or it failed.
  }
  return { status: answer.status, body: read };
}

export class Sending {
  /** told(how): "sent", "no-network", "not-enrolled", "not-carried", "server" and how many; heard(): others spoke. */
  constructor(keeping, { told, heard }) {
    Object.assign(this, { keeping, told, heard, entry: null, running: null, again: false });
    addEventListener("online", () => this.now());
    document.addEventListener("visibilitychange", () => this.now());
    setInterval(() => this.now(), EVERY);
  }

  /** Send and fetch now; one at a time, and once more when asked meanwhile. */
  now() {
    if (this.running) {
      this.again = true;
      return this.running;
    }
    this.running = this.#round().finally(() => {
      this.running = null;
      if (this.again) {
        this.again = false;
        this.now();
      }
    });
    return this.running;
  }

  async #round() {
    try {
      const token = await this.keeping.meta("token");
      if (!token) return;
      const how = (await this.#send(token)) ?? (await this.#fetch(token)) ?? "sent";
      this.told(how);
    } catch (problem) {
      this.told(problem instanceof DOMException && problem.name === "InvalidStateError" ? "lost" : "no-network");
    }
  }

  async #send(token) {
    let trouble = null;
    const unsent = await this.keeping.unsent();
    for (const entry of new Set(unsent.map((one) => one.entry))) {
      const own = unsent.filter((one) => one.entry === entry);
      for (let first = 0; first < own.length; first += AT_ONCE) {
        const events = own.slice(first, first + AT_ONCE).map(({ kept, ...event }) => event);
        const answer = await ask(`/tablet/entries/${entry}/events/`, { token, body: { events } });
        if (answer.status !== 200 || !Array.isArray(answer.body?.taken) || !Array.isArray(answer.body?.known)) {
          trouble = { 403: "not-enrolled", 404: "not-carried" }[answer.status] ?? "server";
          break;
        }
        const { taken, known, refused = [] } = answer.body;
        const why = refused.filter((one) => one.id).map((one) => [one.id, { kept: "refused", problems: one.problems }]);
        await this.keeping.answered([...taken, ...known], why);
        this.told("sending");
      }
    }
    return trouble;
  }

  async #fetch(token) {
    if (!this.entry) return null;
    const { entry } = this;
    const after = (await this.keeping.meta(`last ${entry}`)) ?? 0;
    const answer = await ask(`/tablet/entries/${entry}/events/?after=${after}`, { token });
    if (answer.status !== 200 || !Array.isArray(answer.body?.events)) {
      return { 403: "not-enrolled", 404: "not-carried" }[answer.status] ?? "server";
    }
    if (answer.body.events.length) {
      const fresh = await this.keeping.hear(answer.body.events, entry, answer.body.last);
      if (fresh) this.heard();
      this.again = true;
    }
    return null;
  }
}
