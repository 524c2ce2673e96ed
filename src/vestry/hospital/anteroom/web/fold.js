// From the events of an entry to its state: vestry/entry/fold.py, in the browser. Pure; its rules stand there.
//
// tests/browser/test_fold_alike.py folds generated streams here and in Python and holds the two together.

import { HANDLERS } from "./handling.js";
import { Now, PLAN, text } from "./now.js";
import { inOrder } from "./order.js";

const AFTER_THE_END = new Set([
  "correction", "signed", "late-transcribed", "lane-cleared", "inspected", "closed", "pressed-wrongly",
  "breach", "exposure", "content-removed",
]);
const TAKEN_BACK = new Set([
  "item-checked", "stop-said", "read", "acknowledged", "done-seen", "done-not-seen", "prompted", "stopped", "lane-cleared",
  "drill-injected",
]);

/**
 * The state that these events make of an entry.
 * led: {plan: course, recoveries: Map of name to course, team: Map of role to course};
 * a course: {name, worn, steps: [{id, phase, act, items, group}]}
 */
export function fold(led, events) {
  const now = new Now(led);
  const ordered = inOrder(events);
  const wrong = wronglyPressed(ordered);
  for (const event of ordered) {
    if (!now.devices.includes(event.device)) now.devices.push(event.device);
    if (wrong.has(event.id)) {
      now.takenBack.push(event.id);
      now.flag(event, "pressed wrongly, and taken back");
    } else {
      take(now, event);
    }
  }
  return now.state();
}

function wronglyPressed(ordered) {
  const before = new Map();
  const wrong = new Set();
  for (const event of ordered) {
    const said = event.kind === "pressed-wrongly" ? before.get(text(event, "event")) : undefined;
    if (said && TAKEN_BACK.has(said.kind)) wrong.add(said.id);
    before.set(event.id, event);
  }
  return wrong;
}

function take(now, event) {
  const handle = HANDLERS.get(event.kind);
  if (!handle) {
    if (!now.unknown.includes(event.kind)) now.unknown.push(event.kind);
    return;
  }
  if ((now.stage === "closed" || now.stage === "abandoned") && !AFTER_THE_END.has(event.kind)) {
    now.flag(event, "said after the end");
  } else if (now.stage === "not-opened" && event.kind !== "opened") {
    now.flag(event, "said before the entry was opened");
  }
  handle(now, event);
}

/** What an entry is led along, from its bundle. */
export function ledAlong(carried) {
  const courses = carried.courses.map((one) => ({
    ...one,
    steps: one.scenes.map((scene) => carried.steps[scene.step]),
  }));
  const [plan, ...others] = courses;
  return {
    plan,
    recoveries: new Map(others.filter((one) => !one.role).map((one) => [one.name, one])),
    team: new Map(others.filter((one) => one.role).map((one) => [one.role, one])),
  };
}

/** The course of this name. */
export function courseOf(led, name) {
  if (name === PLAN) return led.plan;
  return led.recoveries.get(name) ?? [...led.team.values()].find((one) => one.name === name);
}
