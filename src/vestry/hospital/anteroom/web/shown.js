// What the screens need to know, worked out from the bundle and the state.

import { courseOf } from "./fold.js";
import { actual, stillHere } from "./interpret.js";
import { groupEnd } from "./now.js";
import { offered } from "./offering.js";
import { either, language, say } from "./say.js";

const SIZES = [["short", 22, 3], ["middle", 28, 4], ["long", 36, 5]];

export function sentences(text) {
  return text.trim().split(/(?<=[.?!])\s+/);
}

export function size(text) {
  const fits = ([, across, most]) => sentences(text).reduce((n, one) => n + Math.ceil(one.length / across), 0) <= most;
  return SIZES.find(fits)?.[0] ?? "longer";
}

export function capital(text) {
  return text.charAt(0).toLocaleUpperCase(language) + text.slice(1);
}

export { timeOfDay as time } from "./say.js";

/** Everything that the screen needs to know, worked out from bundle and state. */
export class Shown {
  constructor(bundle, led, state) {
    const { carried } = bundle;
    Object.assign(this, { bundle, carried, led, state, words: carried.words });
    this.course = courseOf(led, state.course);
    this.actual = actual(carried.program, state);
    this.people = new Map(bundle.people.map((one) => [one["sign-in"], one]));
    this.kind = this.#kind();
    const at = state.held?.course === this.course.name ? this.course.steps.findIndex((one) => one.id === state.held.step) : -1;
    this.place = Math.min(at >= 0 ? at : state.position, this.course.steps.length - 1);
    this.steps = this.place < 0 ? [] : this.course.steps.slice(this.place, groupEnd(this.course, this.place));
  }

  #kind() {
    const { state } = this;
    if (state.stage === "closed" || state.stage === "abandoned") return "over";
    if (state.held) {
      if (!state.held.happened) return state.held.trouble ? "trouble" : "held";
      this.answer = offered(this.carried, this.led, state);
      return this.answer ? "answer" : "hold-card";
    }
    if (state.position >= this.course.steps.length) return "walked";
    const step = this.course.steps[state.position];
    if (this.#within(step)) return "inside";
    return step["stop-point"] && !this.record(step)?.["stop-said-at"] ? "stop-point" : "step";
  }

  /** Gone in, and the way out is not begun: the place is right behind the step that leads into the room. */
  #within(step) {
    const { state } = this;
    const before = this.course.steps[state.position - 1];
    const into = before?.act === "move" && before.to === "room";
    return into && state["entered-at"] && !state["coming-out-at"] && !state["left-at"] && !this.record(step)?.["read-at"];
  }

  record(step) {
    return this.state.steps.find((one) => one.course === this.course.name && one.step === step.id) ?? null;
  }

  line(step) {
    return this.words.lines[this.carried.steps.findIndex((one) => one === step)];
  }

  given(part) {
    if (part === "wearer" && this.course.role) return this.given(this.course.role); // whose own way out it is
    const who = this.people.get(this.state[part]);
    return who?.given ?? say({ wearer: "The wearer", observer: "The observer", assistant: "The assistant" }[part]);
  }

  /** What is put in for the drill and not answered yet; nothing once the entry is over. */
  injected() {
    return this.kind === "over" ? [] : this.state.injected.filter((one) => one["met-at"] === null);
  }

  event(id) {
    return { "not-sure": say("not sure what happened"), "something-else": say("something else") }[id] ?? this.words.events[id] ?? id;
  }

  /** What may be contaminated now, on the person; while held, what was before the step and what is after it. */
  contaminated() {
    const scene = this.course.scenes[this.place];
    const step = this.course.steps[this.place]?.id;
    const worn = new Set(this.state.worn);
    const items = new Set(this.carried.items);
    if (this.course.name !== "plan" || !this.actual.before.has(step)) {
      return new Set(scene ? this.carried.sets[scene.contaminated] : []);
    }
    const now = new Set(this.actual.before.get(step));
    if (this.state.held?.happened) for (const one of this.actual.after.get(step)) now.add(one);
    return stillHere(now, worn, items);
  }

  /** Two at most, and both sides by one name: "outer glove, palm". */
  names(surfaces) {
    const sides = new RegExp(`(^| )(?:${say("left|right")})(?=[ ,]|$)`, "g");
    const named = surfaces.map((one) => (this.words.surfaces[one] ?? one).replace(sides, "$1").replace(/ +(?=,|$)|^ +/g, "").replace(/ {2,}/g, " "));
    return either([...new Set(named)].slice(0, 2));
  }
}
