// The wearer's screen on another device: its address as a code to scan. While it is used, the tablet says each second that
// it is there: without that, the screen shows no step, since what was sent may be old.

import { drawing, h } from "./drawing.js";
import { phrase, say, timeOfDay } from "./say.js";
import { ask } from "./sending.js";

const BEAT = 1_000;
const SAYS = {
  title: "The wearer's screen",
  what: "Any screen or telephone on the same network shows the step that was read. Scan the code; nobody signs in.",
  show: "Show the code",
  anew: "Another code",
  until: (time) => phrase`Holds until ${time}, for this entry.`,
  none: "No network: the wearer's screen needs one. Read aloud.",
  here: "This tablet reached the server under a name that other devices do not know. Open it by the server's own name first.",
};
const LOOPBACK = new Set(["localhost", "127.0.0.1", "[::1]"]);
const links = new Map(); // by entry: {address, until, code}, or {trouble}
let beating = null;
const kept = (entry) => ["wearer-link", entry].join(":");

async function beat(app) {
  if (!app.bundle || app.bundle.entry !== beating) return;
  const { entry } = app.bundle;
  try {
    await ask(`/tablet/entries/${entry}/wearer-link/`, { token: await app.keeping.meta("token"), patience: BEAT });
  } catch {
    // Not heard: the screen says so.
  }
}

/** Go on saying that this tablet is there, also after it was started again. */
async function resume(app) {
  const { entry } = app.bundle;
  if (beating === entry) return;
  const until = await app.keeping.meta(kept(entry)).catch(() => null);
  if (until && Date.parse(until) > Date.now() && app.bundle?.entry === entry) beating = entry;
}

async function show(app, place) {
  const { entry } = app.bundle;
  try {
    const answer = await ask(`/tablet/entries/${entry}/wearer-link/`, { token: await app.keeping.meta("token"), body: {} });
    if (answer.status !== 200) throw new Error("not made");
    links.set(entry, answer.body);
    await app.keeping.setMeta({ [kept(entry)]: answer.body.until });
    beating = entry;
  } catch {
    links.set(entry, { trouble: SAYS.none });
  }
  place.replaceChildren(...inside(app, place));
  place.querySelector("[data-wearer-link]").focus({ preventScroll: true });
}

function inside(app, place) {
  const link = links.get(app.bundle.entry);
  const key = h("button", { type: "button", "data-wearer-link": true, onclick: () => show(app, place) }, link?.code ? SAYS.anew : SAYS.show);
  if (!link) return [h("h2", {}, SAYS.title), h("p", {}, SAYS.what), key];
  if (link.trouble) return [h("h2", {}, SAYS.title), h("p", { class: "problem", role: "alert" }, link.trouble), key];
  const { size, path } = link.code;
  const until = timeOfDay(link.until);
  const code = drawing(`<svg xmlns="http://www.w3.org/2000/svg" class="code" viewBox="0 0 ${size} ${size}" role="img" shape-rendering="crispEdges"><rect width="${size}" height="${size}" fill="#fff"/><path d="${path}" fill="#000"/></svg>`);
  code.setAttribute("aria-label", say(SAYS.title));
  return [h("h2", {}, SAYS.title), code, h("p", { class: "address" }, link.address), h("p", {}, SAYS.until(until)),
    LOOPBACK.has(new URL(link.address).hostname) ? h("p", { class: "problem" }, SAYS.here) : null, key].filter(Boolean);
}

/** The card in the menu of what is seldom needed. */
export function wearerCard(app) {
  resume(app);
  const place = h("div", { class: "card wearer-link" });
  place.replaceChildren(...inside(app, place));
  beatFor ??= setInterval(() => beat(app), BEAT);
  return place;
}
let beatFor = null;
