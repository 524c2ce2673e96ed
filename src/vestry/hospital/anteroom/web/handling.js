// What each kind of event does to the state: vestry/entry/handling.py and noting.py, in the browser.

import { PLAN, flagged, stepOf, text, texts } from "./now.js";
import { compare } from "./order.js";
import { AFTERWARDS, unsettled } from "./turnaround.js";

// ---- the steps, the holds, the way that is led, the end ----

function opened(now, event) {
  if (now.stage !== "not-opened") {
    now.flag(event, "opened twice");
    return;
  }
  now.stage = "under-way";
  now.times.set("opened", event.clock);
  for (const who of ["wearer", "observer", "assistant"]) if (text(event, who)) now.people.set(who, text(event, who));
  now.drill = flagged(event, "drill");
  now.onePress = text(event, "pace") === "one-press";
  now.leads = now.leads || event.device;
}

function stopSaid(now, event) {
  const step = now.here(event);
  if (step && now.of(step.id)["stop-said-at"] === null) now.put({ ...now.of(step.id), "stop-said-at": event.clock });
}

function read(now, event) {
  const step = now.here(event);
  if (!step) return;
  const record = now.of(step.id);
  if (!now.inTurn(step)) now.flag(event, "read out of turn");
  if (record["read-at"] === null) now.put({ ...record, "read-at": event.clock });
}

function acknowledged(now, event) {
  const step = now.here(event);
  if (!step) return;
  const record = now.of(step.id);
  if (record["read-at"] === null) now.flag(event, "acknowledged before it was read");
  if (record["acknowledged-at"] === null) now.put({ ...record, "acknowledged-at": event.clock });
}

const done = (seen) => (now, event) => {
  const step = now.here(event);
  if (!step) return;
  const record = now.of(step.id);
  if (record["done-at"] !== null) {
    now.flag(event, record.seen === seen ? "said to be done twice" : "one says seen, the other not seen");
    return;
  }
  if (now.held !== null && now.held.happened === null) now.flag(event, "done while held");
  if (!now.inTurn(step)) now.flag(event, "done out of order");
  else if (record["read-at"] === null && !now.onePress) now.flag(event, "done without being read");
  if (step.phase === "donning") now.begin(event);
  now.put({ ...record, "done-at": event.clock, seen, late: now.transcribing.includes(event.device) });
  now.wear(step);
  now.finished(event);
};

function prompted(now, event) {
  const step = now.here(event);
  if (!step) return;
  const record = now.of(step.id);
  now.put({ ...record, prompted: record.prompted + 1 });
  now.nearMisses.push([event.clock, step.id]);
}

function stopped(now, event) {
  now.meet(event);
  if (now.held !== null) {
    now.flag(event, "stopped while held");
    return;
  }
  now.here(event);
  now.hold(event);
  if (now.stage === "under-way") now.stage = "held";
}

function release(now, event) {
  now.letGo(event);
  if (now.stage === "held") now.stage = "under-way";
}

function resumed(now, event) {
  if (now.held === null) {
    now.flag(event, "resumed without a stop");
    return;
  }
  if (now.held.happened !== null) {
    const by = text(event, "decided-by");
    now.flag(event, by ? `resumed after a deviation on the word of ${by}` : "resumed after a deviation");
  }
  release(now, event);
}

const TOUCHED = { tear: "item", soiling: "surface" };

function wentOtherwise(now, event) {
  now.meet(event);
  let happened = {
    at: event.clock,
    step: stepOf(event) ?? "",
    events: texts(event, "events"),
    note: text(event, "note"),
    kind: event.kind,
    "answered-by": null,
    touched: (TOUCHED[event.kind] && text(event, TOUCHED[event.kind])) || null,
    course: now.course.name,
  };
  if (now.held === null) {
    now.flag(event, "said without a stop");
    now.hold(event);
  } else if (now.held.happened !== null) {
    now.flag(event, "a second thing happened at this stop");
    const events = [...new Set([...now.held.happened.events, ...happened.events])].sort(compare);
    happened = { ...happened, events };
  }
  now.held = { ...now.held, happened };
  now.deviations.push(happened);
  if (now.stage === "under-way") now.stage = "held";
}

function sameSet(one, other) {
  return new Set(one).size === new Set(other).size && one.every((item) => other.includes(item));
}

function recoveryTaken(now, event) {
  const name = text(event, "recovery");
  const course = now.led.recoveries.get(name);
  if (!course) {
    now.flag(event, "a recovery that was not approved with this procedure");
    return;
  }
  if (now.held === null || now.held.happened === null) {
    now.flag(event, "a recovery taken without saying what happened");
  } else if (!sameSet(course.worn, now.worn)) {
    now.flag(event, "a recovery for other items worn");
  }
  if (now.deviations.length) now.deviations.push({ ...now.deviations.pop(), "answered-by": name });
  now.recoveries.push([event.clock, name]);
  now.course = course;
  release(now, event);
}

function pressedWrongly(now, event) {
  const wrong = text(event, "event");
  if (wrong && !now.takenBack.includes(wrong)) {
    now.flag(event, "what was pressed wrongly cannot be taken back, and stays");
  }
  now.note(event, { what: wrong, note: text(event, "note") });
}

function abandoned(now, event) {
  now.timeOnce("closed", event);
  now.stage = "abandoned";
  now.letGo(event);
}

function closed(now, event) {
  if (now.stage === "closed" || now.stage === "abandoned") {
    now.flag(event, "closed twice");
    return;
  }
  if (now.held !== null) now.flag(event, "closed while held");
  else if (now.position() < now.course.steps.length) now.flag(event, "closed before the last step");
  for (const role of unsettled(now)) now.flag(event, `closed with the ${role}'s own way out neither done nor left out`);
  now.timeOnce("closed", event);
  now.stage = "closed";
  now.letGo(event);
}

// ---- what is said beside the steps ----

const note = (what, more = "note") => (now, event) => {
  now.note(event, { what: what ? text(event, what) : "", step: stepOf(event), note: text(event, more) });
};

const confirmed = (name, what) => (now, event) => {
  if (texts(event, "not-in-order").length) now.flag(event, `${what} with something not in order`);
  now.timeOnce(name, event);
  now.note(event, { what: text(event, "list"), note: text(event, "note") });
};

function itemChecked(now, event) {
  const [check, item, says] = ["check", "item", "says"].map((name) => text(event, name));
  const key = JSON.stringify([check, item]);
  const onceNot = says !== "in-order" || Boolean(now.checks.get(key)?.["once-not"]);
  now.checks.set(key, { at: event.clock, check, item, says, "once-not": onceNot });
}

function overridden(now, event) {
  now.flag(event, `a rule was overridden by name: ${texts(event, "rules").join(", ")}`);
  if (text(event, "signed") === "told") now.flag(event, "the override was told, not signed by who decided");
  now.note(event, { what: text(event, "decided-by"), note: text(event, "reason") });
}

function personChecked(now, event) {
  now.mayGoIn = flagged(event, "may");
  now.note(event, { what: now.mayGoIn ? "may" : "may-not" });
}

function entered(now, event) {
  if (now.times.has("entered")) now.flag(event, "went in twice");
  if (now.mayGoIn === false) now.flag(event, "went in though may not was said");
  const area = "the doffing area was confirmed";
  const missing = now.unchecked();
  if (!now.times.has("area-confirmed") && !missing.includes(area)) missing.unshift(area);
  for (const said of missing) now.flag(event, `went in before ${said}`);
  now.timeOnce("entered", event);
}

function left(now, event) {
  if (now.times.has("left")) now.flag(event, "came out twice");
  else if (!now.times.has("entered")) now.flag(event, "came out without having gone in");
  now.timeOnce("left", event);
}

function comingOut(now, event) {
  if (!now.times.has("entered")) now.flag(event, "on the way out without having gone in");
  now.timeOnce("coming-out", event);
  now.note(event, { note: text(event, "note") });
}

function itemCrossed(now, event) {
  const [item, direction, label, receiver, more] = ["item", "direction", "label", "receiver", "note"].map((name) => text(event, name));
  const wiped = Object.hasOwn(event.payload, "wiped") ? flagged(event, "wiped") : null;
  now.crossings.push({ at: event.clock, item, direction, wiped, label, receiver, note: more });
  now.note(event, { what: item, step: stepOf(event), note: more });
}

function unwell(now, event) {
  now.meet(event);
  if (now.held !== null) now.held = { ...now.held, trouble: text(event, "what") || "unwell" };
  now.note(event, { what: text(event, "what"), step: stepOf(event), note: text(event, "note") });
}

function hygieneTimed(now, event) {
  const note = flagged(event, "short") ? "short" : "";
  now.note(event, { what: text(event, "seconds"), step: stepOf(event), note });
}

function handedOver(now, event) {
  const to = text(event, "to");
  if (!to) now.flag(event, "handed over to nobody");
  else if (to === now.people.get("observer")) now.flag(event, "handed over to the one who leads already");
  else {
    now.people.set("observer", to);
    if (Object.hasOwn(event.payload, "identified") && event.payload.identified === false) {
      now.flag(event, "handed over without badge and PIN");
    }
  }
  now.note(event, { what: to, note: text(event, "note") });
}

function deviceTakenOver(now, event) {
  if (now.leads === event.device) now.flag(event, "taken over by the device that leads already");
  now.leads = event.device;
  now.note(event, { what: event.device, note: text(event, "note") });
}

function lateTranscribed(now, event) {
  if (!now.transcribing.includes(event.device)) now.transcribing.push(event.device);
  now.note(event, { what: text(event, "by"), note: text(event, "note") });
}

function injected(now, event) {
  const [what, surface] = [text(event, "what"), text(event, "surface")];
  if (!now.drill) now.flag(event, "put in for a drill, and this is none");
  else now.injected.push({ at: event.clock, what, step: stepOf(event), surface: surface || null, "met-at": null });
  now.note(event, { what, step: stepOf(event), note: surface });
}

function reached(now, event) {
  now.meet(event);
  now.note(event, { what: text(event, "site"), step: stepOf(event), note: text(event, "sort") });
}

function signed(now, event) {
  if (now.noted.some((one) => one.kind === "signed" && one.what === event.actor)) {
    now.flag(event, "signed twice by the same person");
  }
  now.note(event, { what: event.actor });
}

/** One for every kind that is known. */
export const HANDLERS = new Map([
  ["item-checked", itemChecked],
  ["area-confirmed", confirmed("area-confirmed", "the doffing area was confirmed")],
  ["person-checked", personChecked],
  ["signal-checked", confirmed("signal-checked", "signals were checked")],
  ["overridden", overridden],
  ["unwell", unwell],
  ["glove-changed", note("")],
  ["hygiene-timed", hygieneTimed],
  ["entered", entered],
  ["item-crossed", itemCrossed],
  ["relief-called", note("")],
  ["coming-out", comingOut],
  ["left", left],
  ...AFTERWARDS,
  ["breach", reached],
  ["exposure", reached],
  ["inspected", note("")],
  ["observer-handed-over", handedOver],
  ["device-taken-over", deviceTakenOver],
  ["correction", (now, event) => now.corrections.push(event.id)],
  ["signed", signed],
  ["late-transcribed", lateTranscribed],
  ["drill-injected", injected],
  ["content-removed", () => {}],
  ["opened", opened],
  ["stop-said", stopSaid],
  ["read", read],
  ["acknowledged", acknowledged],
  ["done-seen", done(true)],
  ["done-not-seen", done(false)],
  ["prompted", prompted],
  ["stopped", stopped],
  ["resumed", resumed],
  ["deviation", wentOtherwise],
  ["tear", wentOtherwise],
  ["soiling", wentOtherwise],
  ["zone-crossed", wentOtherwise],
  ["recovery-taken", recoveryTaken],
  ["pressed-wrongly", pressedWrongly],
  ["abandoned", abandoned],
  ["closed", closed],
]);

export { PLAN };
