// The clocks of an entry: a rub, the contact time of a wipe, the time inside, the whole. Pure: from events and a steady time.
//
// They inform. None of them ends a step: hands are seen dry and covered, or are not. STOP freezes what is shown; a rub that
// was held goes on counting from where it stood, for the time inside the clock on the wall went on.

import { phrase } from "./say.js";

const PART = { "hand-hygiene": "hands", "disinfect-gloves": "gloves", wipe: "surfaces" };

/** Milliseconds of each clock text of the entry, on the clock as it goes now. */
export function moments(events, steady, device) {
  const found = new Map();
  for (const event of events) if (!found.has(event.clock)) found.set(event.clock, steady.at(event, device));
  return (clock) => found.get(clock) ?? Date.parse(clock);
}

/** What the unit holds for this step: {agent, on, seconds, sort, ...}, or null where it is no rub and no wipe. */
export function hygieneOf(clocks, step) {
  const on = PART[step.act];
  return on ? ((clocks.hygiene ?? []).find((one) => one.on === on && one.agent === step.agent) ?? { on, seconds: null, sort: "rub" }) : null;
}

/** Milliseconds that a rub has lasted: since it was read, or since it was begun again; without the time it was held. */
export function rubbed(state, step, at, now) {
  const record = state.steps.find((one) => one.course === state.course && one.step === step.id);
  const again = state.noted.filter((one) => one.kind === "hygiene-timed" && one.step === step.id && one.note === "short").at(-1)?.at;
  const before = state["one-press"] ? state.steps.map((one) => one["done-at"]).filter(Boolean).sort().at(-1) : null;
  const begun = again ?? record?.["read-at"] ?? before;
  if (!begun) return null;
  const from = at(begun);
  const until = state.held ? at(state.held.at) : now;
  const held = state.holds.filter(([, to]) => to !== null).reduce((sum, [start, end]) => sum + Math.max(0, at(end) - Math.max(from, at(start))), 0);
  return Math.max(0, until - from - held);
}

/** {inside, left, total} in milliseconds; null where not begun. While held, as it was at STOP. */
export function spans(state, limitMinutes, at, now) {
  const until = state.held ? at(state.held.at) : now;
  const lasted = (from, to) => (from ? Math.max(0, (to ? at(to) : until) - at(from)) : null);
  const inside = lasted(state["entered-at"], state["left-at"]);
  return {
    inside,
    left: inside === null ? null : limitMinutes * 60_000 - inside,
    total: lasted(state["opened-at"], state["closed-at"]),
  };
}

/** 42:07 or 1:02:07. */
export function run(milliseconds) {
  const seconds = Math.floor(milliseconds / 1000);
  const two = (n) => String(n).padStart(2, "0");
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}` : `${minutes}:${two(seconds % 60)}`;
}

/** Whole minutes left, or over, in words: a minute that is begun counts, as on the wearer's screen and on the board. */
export function leftInWords(left) {
  return left >= 0 ? phrase`${Math.ceil(left / 60_000)} min left` : phrase`${Math.ceil(-left / 60_000)} min over the limit`;
}
