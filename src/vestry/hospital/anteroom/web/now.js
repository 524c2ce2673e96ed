// The state of an entry while it is being folded: vestry/entry/now.py, in the browser.

import { compare } from "./order.js";

export const PLAN = "plan";

/** What a field of the payload says; empty where it says nothing, or not in words. */
export function text(event, name) {
  const value = Object.hasOwn(event.payload, name) ? event.payload[name] : "";
  return typeof value === "string" ? value : "";
}

/** The texts that a field lists, once each, in order. */
export function texts(event, name) {
  const value = Object.hasOwn(event.payload, name) ? event.payload[name] : [];
  if (!Array.isArray(value)) return [];
  return [...new Set(value.filter((one) => typeof one === "string"))].sort(compare);
}

/** Whether a field says true. */
export function flagged(event, name) {
  return Object.hasOwn(event.payload, name) && event.payload[name] === true;
}

/** The step that an event speaks of, or null. */
export function stepOf(event) {
  return text(event, "step") || null;
}

/** The place after the last step of the unbroken group that begins, or goes on, at this place. */
export function groupEnd(course, position) {
  const group = course.steps[position].group ?? null;
  if (group === null) return position + 1;
  let end = position;
  while (end < course.steps.length && course.steps[end].group === group) end += 1;
  return end;
}

export class Now {
  constructor(led) {
    this.led = led;
    this.course = led.plan;
    this.worn = [...led.plan.worn];
    this.stage = "not-opened";
    this.people = new Map();
    this.times = new Map();
    this.drill = false;
    this.onePress = false;
    this.steps = new Map();
    this.held = null;
    this.holds = [];
    this.deviations = [];
    this.nearMisses = [];
    this.recoveries = [];
    this.flags = [];
    this.corrections = [];
    this.mayGoIn = null;
    this.checks = new Map();
    this.began = false;
    this.noted = [];
    this.crossings = [];
    this.injected = [];
    this.takenBack = [];
    this.devices = [];
    this.leads = null;
    this.transcribing = [];
    this.unknown = [];
    this.laneDone = [];
    this.own = new Map(
      [...led.team.keys()].map((role) => [role, { role, "begun-at": null, how: "", "done-at": null, "why-not": "" }]),
    );
  }

  flag(event, what) {
    this.flags.push({ at: event.clock, event: event.id, what });
  }

  note(event, { what = "", step = null, note = "" } = {}) {
    this.noted.push({ at: event.clock, kind: event.kind, what, step, note });
  }

  hold(event) {
    this.held = { at: event.clock, course: this.course.name, step: stepOf(event) ?? "", happened: null, trouble: null };
    this.holds.push([event.clock, null]);
  }

  letGo(event) {
    if (this.held !== null) this.holds.at(-1)[1] = event.clock;
    this.held = null;
  }

  /** The team answers what was put in for the drill and is not answered yet. */
  meet(event) {
    this.injected = this.injected.map((one) => (one["met-at"] ? one : { ...one, "met-at": event.clock }));
  }

  timeOnce(name, event) {
    if (!this.times.has(name)) this.times.set(name, event.clock);
  }

  position() {
    const place = this.course.steps.findIndex((step) => this.of(step.id)["done-at"] === null);
    return place < 0 ? this.course.steps.length : place;
  }

  of(step) {
    return (
      this.steps.get(JSON.stringify([this.course.name, step])) ?? {
        course: this.course.name,
        step,
        "stop-said-at": null,
        "read-at": null,
        "acknowledged-at": null,
        "done-at": null,
        seen: null,
        prompted: 0,
        late: false,
      }
    );
  }

  put(record) {
    this.steps.set(JSON.stringify([record.course, record.step]), record);
  }

  here(event) {
    const found = this.course.steps.find((step) => step.id === stepOf(event));
    if (!found) this.flag(event, "of a step that is not on the way that is led");
    return found ?? null;
  }

  inTurn(step) {
    const position = this.position();
    if (position === this.course.steps.length) return false;
    const place = this.course.steps.indexOf(step);
    return place >= position && place < groupEnd(this.course, position);
  }

  unchecked() {
    const asked = new Set(this.led.plan.steps.filter((step) => step.act === "confirm").map((step) => step.topic));
    return [
      ["area-confirmed", this.times.has("area-confirmed"), "the doffing area was confirmed"],
      ["person-checked", this.mayGoIn !== null, "the person was checked"],
      ["signals-agreed", this.times.has("signal-checked"), "signals were checked"],
    ].filter(([topic, done]) => asked.has(topic) && !done).map(([, , said]) => said);
  }

  begin(event) {
    if (this.began) return;
    this.began = true;
    for (const said of this.unchecked()) this.flag(event, `donning began before ${said}`);
  }

  wear(step) {
    if (step.act === "don") {
      this.worn.push(...step.items.filter((item) => !this.worn.includes(item)));
    } else if (step.act === "doff") {
      this.worn = this.worn.filter((item) => !step.items.includes(item));
    } else if (step.act === "change-gloves") {
      this.worn = [...this.worn.filter((item) => !step.items.includes(item)), "fresh-gloves"];
    }
  }

  /** What a step just done brought to its end: the donning, or somebody's own way out. */
  finished(event) {
    if (this.course.name === PLAN && !this.times.has("dressed")) {
      const donning = this.course.steps.filter((step) => step.phase === "donning");
      if (donning.length && donning.every((step) => this.of(step.id)["done-at"] !== null)) this.timeOnce("dressed", event);
    }
    for (const [role, course] of this.led.team) {
      const own = this.own.get(role);
      if (course.name === this.course.name && own["done-at"] === null && this.position() === this.course.steps.length) {
        this.own.set(role, { ...own, "done-at": event.clock });
      }
    }
  }

  state() {
    const position = this.position();
    let stage = this.stage;
    if (stage === "under-way" && position === this.course.steps.length) stage = "walked";
    const courses = [PLAN, ...this.recoveries.map(([, name]) => name), ...[...this.led.team.values()].map((one) => one.name)];
    const order = new Map(courses.map((name, place) => [name, place]));
    const steps = [...this.steps.values()];
    steps.sort((a, b) => (order.get(a.course) ?? order.size) - (order.get(b.course) ?? order.size));
    const time = (name) => this.times.get(name) ?? null;
    return {
      stage,
      wearer: this.people.get("wearer") ?? null,
      observer: this.people.get("observer") ?? null,
      assistant: this.people.get("assistant") ?? null,
      drill: this.drill,
      "one-press": this.onePress,
      "opened-at": time("opened"),
      "dressed-at": time("dressed"),
      "entered-at": time("entered"),
      "coming-out-at": time("coming-out"),
      "left-at": time("left"),
      "closed-at": time("closed"),
      "area-confirmed-at": time("area-confirmed"),
      "signals-checked-at": time("signal-checked"),
      "may-go-in": this.mayGoIn,
      checks: [...this.checks.values()],
      course: this.course.name,
      position,
      worn: this.worn,
      steps,
      held: this.held,
      holds: this.holds,
      deviations: this.deviations,
      "near-misses": this.nearMisses,
      recoveries: this.recoveries,
      flags: this.flags,
      corrections: this.corrections,
      noted: this.noted,
      crossings: this.crossings,
      injected: this.injected,
      "lane-done": this.laneDone,
      "lane-cleared-at": time("lane-cleared"),
      team: [...this.own.values()],
      "taken-back": this.takenBack,
      devices: this.devices,
      leads: this.leads,
      transcribed: this.transcribing.length > 0,
      unknown: this.unknown,
    };
  }
}
