// Which approved answer the held screen offers: vestry/entry/offering.py and vestry/procedure/answering.py, in the browser.
//
// Only what was approved with the procedure is offered. Its worn set equals what is worn, and what it assumes covers what
// may be contaminated. None fits: the unit's hold card, never a guess.

import { actual, stillHere } from "./interpret.js";
import { PLAN } from "./now.js";

/** The approved answer (a course of the bundle) to what was said at this stop, or null. */
export function offered(carried, led, state) {
  const happened = state.held?.happened;
  if (!happened || state.course !== PLAN || state.deviations.length !== 1) return null;
  if (happened.kind !== "deviation" || happened.events.length !== 1 || happened.events.includes("something-else")) {
    return null;
  }
  const step = led.plan.steps.find((one) => one.id === happened.step);
  if (!step) return null;
  const now = actual(carried.program, state);
  if (!now.whole || !now.after.has(happened.step)) return null;
  const worn = wornAfter(state, step);
  return answer([...led.recoveries.values()], {
    at: happened.step,
    events: happened.events[0] === "not-sure" ? [] : happened.events,
    worn,
    contaminated: stillHere(now.after.get(happened.step), worn, new Set(carried.items)),
  });
}

/** What is worn once the step is finished: an answer begins there. */
export function wornAfter(state, step) {
  const worn = new Set(state.worn);
  for (const item of step.items) {
    if (step.act === "doff") worn.delete(item);
    else if (step.act === "don") worn.add(item);
  }
  return worn;
}

/** Among those that fit, the one for exactly what happened; then the one that assumes least. */
export function answer(recoveries, happened) {
  const wanted = happened.events.length ? [...happened.events].sort() : ["envelope"];
  let best = null;
  for (const one of recoveries) {
    if (!fits(one, happened)) continue;
    const own = [...one.happened].sort();
    const differs = own.length === wanted.length && own.every((event, n) => event === wanted[n]) ? 0 : 1;
    const rank = [differs, one.assumed.length];
    if (best === null || rank[0] < best.rank[0] || (rank[0] === best.rank[0] && rank[1] < best.rank[1])) {
      best = { rank, one };
    }
  }
  return best?.one ?? null;
}

function fits(one, happened) {
  const worn = new Set(one.worn);
  if (one.at !== happened.at || !one.clean) return false;
  if (worn.size !== happened.worn.size || ![...worn].every((item) => happened.worn.has(item))) return false;
  const own = new Set(one.happened);
  const said = new Set(happened.events);
  const within = said.size > 0 && [...said].every((event) => own.has(event));
  const envelope = one.happened.length === 1 && one.happened[0] === "envelope";
  const assumed = new Set(one.assumed);
  return (within || envelope) && [...happened.contaminated].every((surface) => assumed.has(surface));
}
