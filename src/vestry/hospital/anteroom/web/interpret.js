// What may be contaminated now: the compiled way out, run with what was seen to happen. vestry/contact/reach.py and
// vestry/entry/actual.py, in the browser. docs/reference/program.md says how a program is run.

import { PLAN } from "./now.js";

/**
 * Run a program. happening: Set of event numbers; seen: Map of step number to surface numbers seen soiled after it.
 * Gives, from arrival on and after each step, the Set of surface numbers that may be contaminated.
 */
export function run(program, happening = new Set(), seen = new Map()) {
  const now = new Set(program.start.map(([number]) => number));
  const after = [];
  let step = -1;
  const leave = () => {
    for (const surface of seen.get(step) ?? []) now.add(surface);
    after.push(new Set(now));
    step += 1;
  };
  for (const [verb, a, b, event, at] of program.ops) {
    while (step < at) leave();
    if (verb === "clean" || verb === "fresh") {
      if (verb === "fresh" || !happening.has(event)) now.delete(a);
    } else if (event === -1 || happening.has(event)) {
      const [fromA, fromB] = [now.has(a), now.has(b)];
      if (fromA) now.add(b);
      if (fromB && verb === "contact") now.add(a);
    }
  }
  while (step < program.steps.length) leave();
  return after;
}

/**
 * What may be contaminated along the way out, with all that was said so far.
 * {before, after: Map of step id to Set of surface ids; whole: false where more may be than the program knows}
 */
export function actual(program, state) {
  const happening = new Set();
  const seen = new Map();
  let whole = !state.flags.some((one) => one.what === "done out of order");
  for (const one of state.deviations) {
    if (one.course === PLAN && !happened(program, one, happening, seen)) whole = false;
  }
  const along = run(program, happening, seen).map((set) => new Set([...set].map((n) => program.surfaces[n])));
  return {
    before: new Map(program.steps.map((step, number) => [step, along[number]])),
    after: new Map(program.steps.map((step, number) => [step, along[number + 1]])),
    whole,
  };
}

/** Add what a deviation says to what happens; whether the program knows all of it. */
function happened(program, one, happening, seen) {
  const step = program.steps.indexOf(one.step);
  if (one.kind === "soiling") {
    const surface = one.touched === null ? -1 : program.surfaces.indexOf(one.touched);
    if (step < 0 || surface < 0) return false;
    if (!seen.has(step)) seen.set(step, new Set());
    seen.get(step).add(surface);
    return true;
  }
  if (one.kind === "tear") {
    const faults = numbers(program, (event) => event.id.startsWith(`latent:${one.touched}:`));
    for (const number of faults) happening.add(number);
    return faults.length > 0;
  }
  if (one.kind !== "deviation" || step < 0 || one.events.length === 0) return false;
  let whole = true;
  for (const said of one.events) {
    const found =
      said === "not-sure"
        ? numbers(program, (event) => event.step === step && (event.sort === "slip" || event.sort === "omission"))
        : numbers(program, (event) => event.id === said && event.sort !== "residue").slice(-1);
    for (const number of found) happening.add(number);
    if (said !== "not-sure" && found.length === 0) whole = false;
  }
  return whole;
}

function numbers(program, fits) {
  return program.events.flatMap((event, number) => (fits(event) ? [number] : []));
}

/** Without the faces of what has come off, and without the air: where a recovery starts from. */
export function stillHere(surfaces, worn, items) {
  const kept = [...surfaces].filter((name) => {
    const owner = name.split(".", 1)[0];
    return owner !== "air" && (worn.has(owner) || !items.has(owner));
  });
  return new Set(kept);
}
