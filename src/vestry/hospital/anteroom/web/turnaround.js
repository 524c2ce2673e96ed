// After the wearer is out: the lane made ready, and observer and assistant out of their own gear. vestry/entry/turnaround.py,
// in the browser.

import { text, texts } from "./now.js";

export const LANE_TASKS = ["seat", "floor", "bins", "restock"];

function laneCleared(now, event) {
  const named = texts(event, "done");
  now.note(event, { what: named.join(", "), note: text(event, "note") });
  if (!now.times.has("left")) {
    now.flag(event, "the lane said to be cleared before the wearer was out");
    return;
  }
  const said = Object.hasOwn(event.payload, "done") ? named : LANE_TASKS;
  now.laneDone.push(...said.filter((one) => LANE_TASKS.includes(one) && !now.laneDone.includes(one)));
  if (now.laneDone.length === LANE_TASKS.length) now.timeOnce("lane-cleared", event);
}

function begun(now, event) {
  const role = text(event, "role");
  now.note(event, { what: role, note: text(event, "how") });
  const own = now.own.get(role);
  if (!own) {
    now.flag(event, "an own way out that the plan does not have");
    return;
  }
  if (own["begun-at"] === null) now.own.set(role, { ...own, "begun-at": event.clock, how: text(event, "how") });
  else now.flag(event, "an own way out begun twice");
  if (!now.times.has("left")) {
    now.flag(event, "an own way out begun before the wearer was out");
    return;
  }
  if (now.held !== null) {
    now.flag(event, "an own way out begun while held");
    return;
  }
  if (now.position() < now.course.steps.length) {
    now.flag(event, "an own way out begun before the last step of the one before");
  }
  now.course = now.led.team.get(role);
  now.worn = [...now.course.worn];
}

function leftOut(now, event) {
  const role = text(event, "role");
  now.note(event, { what: role, note: text(event, "reason") });
  const own = now.own.get(role);
  if (!own) {
    now.flag(event, "an own way out that the plan does not have");
    return;
  }
  if (own["done-at"] !== null) now.flag(event, "an own way out said to be left out, and done");
  now.own.set(role, { ...own, "why-not": text(event, "reason") });
}

/** Roles whose own way out was neither done nor said to be left out, once the wearer is out. */
export function unsettled(now) {
  if (!now.times.has("left")) return [];
  return [...now.own.values()].filter((own) => own["done-at"] === null && own["why-not"] === "").map((own) => own.role);
}

export const AFTERWARDS = [
  ["lane-cleared", laneCleared],
  ["undressing-begun", begun],
  ["undressing-left-out", leftOut],
];
