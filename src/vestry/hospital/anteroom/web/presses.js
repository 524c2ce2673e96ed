// From a press to the events that it says: vestry/hospital/anteroom/presses.py, in the browser.

import { courseOf } from "./fold.js";
import { groupEnd } from "./now.js";

const TOPICS = {
  "area-confirmed": ["area-confirmed", {}],
  "person-checked": ["person-checked", { may: true }],
  "signals-agreed": ["signal-checked", {}],
};

function group(course, step) {
  const place = course.steps.findIndex((one) => one.id === step);
  return place < 0 ? [{ id: step, act: "confirm" }] : course.steps.slice(place, groupEnd(course, place));
}

function named(said, names) {
  return Object.fromEntries(Object.entries(names).filter(([old]) => said[old]).map(([old, name]) => [name, said[old]]));
}

const HYGIENE = new Set(["hand-hygiene", "disinfect-gloves", "wipe"]);

function done(press, steps, seconds) {
  return steps.flatMap((one) => {
    const events = [[press, { step: one.id }]];
    if (seconds && steps.length === 1 && HYGIENE.has(one.act)) events.push(["hygiene-timed", { step: one.id, seconds }]);
    if (one.act === "confirm" && TOPICS[one.topic]) events.push(TOPICS[one.topic]);
    else if (one.act === "move" && one.to === "room") events.push(["entered", {}]);
    else if (one.act === "move" && one.to === "clean-side") events.push(["left", {}]);
    return events;
  });
}

/** The kinds and payloads that a press says, in order. said: {step, events, recovery, by, reason, note, ...} */
export function eventsOf(press, said, led, state) {
  const course = courseOf(led, state.course) ?? led.plan;
  const { step } = said;
  switch (press) {
    case "read":
      return group(course, step).map((one) => ["read", { step: one.id }]);
    case "done-seen":
    case "done-not-seen":
      return done(press, group(course, step), said.seconds);
    case "ended-early":
      return [["hygiene-timed", { step, short: true, ...named(said, { seconds: "seconds" }) }]];
    case "went-otherwise": {
      const events = [["deviation", { step, events: [said.events], ...named(said, { note: "note" }) }]];
      if (state.held && state.held.step !== step) {
        for (const one of group(course, state.held.step)) {
          if (one.id === step) break;
          events.push(["done-seen", { step: one.id }]);
        }
      }
      return events;
    }
    case "item-checked":
      return [["item-checked", { check: said.check, item: said.item, says: said.says }]];
    case "may-not":
      return [["item-checked", { check: "person", item: said.item, says: "not-in-order" }], ["person-checked", { may: false }]];
    case "overridden":
      return [
        ["overridden", { rules: [`${said.check}:${said.item}`], "decided-by": said.by, reason: said.reason, alternative: said.alternative, signed: said.signed }],
        ["item-checked", { check: said.check, item: said.item, says: "goes-on" }],
      ];
    case "check-confirmed": {
      const record = state.steps.find((one) => one.course === state.course && one.step === step);
      const first = record?.["read-at"] ? [] : [["read", { step }]];
      return [...first, ["done-seen", { step }], [said.kind, said.payload]];
    }
    case "tear":
      return [["tear", { step, item: said.what, ...named(said, { surface: "surface" }) }]];
    case "soiling":
      return [["soiling", { step, surface: said.what }]];
    case "breach": {
      const { site, sort, who } = said;
      return [["breach", { site, sort, who }], ...(said.reached ? [["exposure", { site, sort, who }]] : [])];
    }
    case "recovery-taken": {
      const record = state.steps.find((one) => one.course === state.course && one.step === step);
      const first = record?.["done-at"] ? [] : [["done-seen", { step }]];
      return [...first, ["recovery-taken", { step, recovery: said.recovery }]];
    }
    case "pressed-wrongly":
      return [["pressed-wrongly", { note: "STOP" }], ["resumed", { step, reason: "pressed-wrongly" }]];
    case "taken-back":
      return [["pressed-wrongly", { event: said.event }]];
    case "resumed":
      return [["resumed", { step, ...named(said, { by: "decided-by", reason: "reason" }) }]];
    case "abandoned":
      return [["abandoned", { reason: said.reason }]];
    case "closed":
      return [["closed", {}]];
    case "lane-cleared":
      return [["lane-cleared", { done: [said.what] }]];
    case "undressing-begun":
      return [["undressing-begun", { role: said.role, how: said.how }]];
    case "undressing-left-out":
      return [["undressing-left-out", { role: said.role, reason: said.reason }]];
    case "observer-handed-over":
      return [["observer-handed-over", {
        to: said.to, ...("identified" in said ? { identified: said.identified } : {}), ...named(said, { step: "step", note: "note" }),
        ...(said.worn?.length ? { worn: said.worn.slice(0, 20) } : {}),
      }]];
    case "item-crossed":
      return [["item-crossed", {
        item: said.item, direction: said.direction, ...("wiped" in said ? { wiped: said.wiped } : {}), ...named(said, { label: "label", receiver: "receiver" }),
      }]];
    case "relief-called":
    case "coming-out":
      return [[press, {}]];
    case "trouble": {
      const stop = state.held || !step ? [] : [["stopped", { step }]];
      return [...stop, ["unwell", { what: said.what, ...named(said, { step: "step" }) }]];
    }
    case "out-of-trouble":
      return [["coming-out", { note: said.what }], ["resumed", { step, reason: `${said.what}-out` }]];
    case "drill-injected":
      return [["drill-injected", { what: said.what, ...named(said, { step: "step", surface: "surface" }) }]];
    case "device-taken-over":
      return [["device-taken-over", {}]];
    default:
      return [[press, { step }]];
  }
}
