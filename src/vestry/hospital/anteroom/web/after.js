// Once the wearer is out: assistant and observer out of their own gear, the lane made ready for the next, the end.

import { floor, h, icons } from "./drawing.js";
import { phrase, sayMany, timeOfDay as time } from "./say.js";
import { LANE_TASKS } from "./turnaround.js";

const SAYS = {
  out: (name) => phrase`${name} is on the clean side`,
  own: (name) => phrase`Now ${name}'s own way out.`,
  ownWay: (name) => phrase`${name}'s own way out`,
  every: "Every step is done.",
  wipe: "Wipe the tablet, its stand and the pedal. Then close the entry.",
  after: { assistant: "They helped, so their own gear may be contaminated. They go before whoever watches.",
    observer: "Last in the lane: by the mirror, with the printed sheet on the wall, or watched by someone on the clean side." },
  observed: (name) => (name ? phrase`Lead it, ${name} watches` : "Lead it, watched"),
  mirror: "Lead it, by the mirror",
  notHere: "Not in this entry, because they",
  whyNot: { "stays-for-the-next": "stay for the next wearer", "out-with-another-entry": "go out with another entry" },
  because: "Another reason",
  say: "Say why not",
  close: "Close the entry",
  lane: "The lane",
  tasks: { seat: "Seat wiped", floor: "Floor wiped", bins: "Bins closed and changed", restock: "Restocked" },
  notClear: (left) => sayMany(left, "Not clear yet: {} part to do. Press it when it is done.", "Not clear yet: {} parts to do. Press each when it is done."),
  clear: (time) => phrase`Clear since ${time}.`,
  closed: "The entry is closed.",
  early: "The entry ended early.",
  leaveOn: "Leave this tablet on until everything is sent: the number stands above.",
  others: "Other entries",
};

const settled = (own) => own["done-at"] !== null || own["why-not"] !== "";

function given(shown, part) {
  return shown.people.get(shown.state[part])?.given ?? { wearer: "The wearer", observer: "The observer", assistant: "The assistant" }[part];
}

/** Whose own way out is led now, in words; null where it is the wearer's. */
export function ownWay(shown) {
  return shown.course.role ? SAYS.ownWay(given(shown, shown.course.role)) : null;
}

function key(app, press, says, said, { go = false } = {}) {
  return h("button", { type: "button", class: go ? "go" : null, "data-press": press, "data-primary": go, onclick: () => app.press(press, said) },
    go ? icons.pedal() : null, says);
}

/** The turnaround, each part to be pressed when it is done; pressed again, it was pressed wrongly. */
export function lane(app, shown) {
  const { state } = shown;
  if (state["left-at"] === null) return null;
  const done = new Set(state["lane-done"]);
  const gone = new Set(state["taken-back"]);
  const said = (task) => app.events.filter((one) => one.kind === "lane-cleared" && !gone.has(one.id) && one.payload.done?.includes(task)).at(-1);
  const toggle = (task) => {
    const before = said(task);
    if (!done.has(task)) app.press("lane-cleared", { what: task });
    else if (before) app.press("taken-back", { event: before.id });
  };
  const cleared = state["lane-cleared-at"];
  return h("section", { class: "turnaround", "data-lane": cleared ? "clear" : "to-clear" },
    h("h2", {}, SAYS.lane, " ", h("span", {}, cleared ? SAYS.clear(time(cleared)) : SAYS.notClear(LANE_TASKS.length - done.size))),
    h("div", { class: "ticks" }, LANE_TASKS.map((task) =>
      h("button", { type: "button", "data-task": task, "aria-pressed": String(done.has(task)), onclick: () => toggle(task) }, SAYS.tasks[task]))));
}

function own(app, shown, role) {
  const name = given(shown, role);
  const watcher = role === "assistant" ? given(shown, "observer") : null;
  const how = role === "assistant" ? ["observed", "mirror"] : ["mirror", "observed"];
  const words = { observed: SAYS.observed(watcher), mirror: SAYS.mirror };
  const why = h("input", { id: "why-not", type: "text", maxlength: "400", autocomplete: "off", required: true });
  const other = h("form", { class: "because", onsubmit: (event) => { event.preventDefault(); app.press("undressing-left-out", { role, reason: why.value.trim() }); } },
    h("label", { for: "why-not" }, SAYS.because), why, h("button", { "data-press": "undressing-left-out" }, SAYS.say));
  return {
    head: [h("h1", { class: "act middle" }, h("span", {}, SAYS.own(name))), h("p", { class: "aside" }, SAYS.after[role])],
    rest: h("section", { class: "not-here" }, h("h2", {}, SAYS.notHere),
      h("div", { class: "ticks" }, Object.entries(SAYS.whyNot).map(([reason, says]) => key(app, "undressing-left-out", says, { role, reason }))), other),
    keys: [key(app, "undressing-begun", words[how[1]], { role, how: how[1] }), key(app, "undressing-begun", words[how[0]], { role, how: how[0] }, { go: true })],
  };
}

/** The last step of a way out is done: whose own way is next, the lane, and at the end closing. */
export function walked(app, shown) {
  const { state } = shown;
  const next = state["left-at"] === null ? null : state.team.find((one) => !settled(one));
  const part = next ? own(app, shown, next.role) : {
    head: [h("h1", { class: "act middle" }, h("span", {}, SAYS.every)), h("p", { class: "aside" }, SAYS.wipe)],
    rest: null,
    keys: [key(app, "closed", SAYS.close, {}, { go: true })],
  };
  const isDone = (step) => Boolean(shown.record(step)?.["done-at"]);
  return [
    h("div", { class: "stage after" }, h("div", { class: "head" },
      h("div", { class: "who" }, h("span", { class: "on" }, SAYS.out(given(shown, "wearer")))), part.head), lane(app, shown), part.rest),
    h("div", { class: "low" }, floor(shown.course.steps, state.position, isDone), h("div", { class: "keys" }, part.keys)),
  ];
}

export function over(app, shown) {
  return [
    h("div", { class: "stage after" }, h("div", { class: "head" },
      h("h1", { class: "act middle" }, h("span", {}, shown.state.stage === "closed" ? SAYS.closed : SAYS.early)),
      h("p", { class: "aside" }, SAYS.leaveOn)), lane(app, shown)),
    h("div", { class: "low" }, h("div", { class: "keys" }, h("button", { type: "button", class: "go", onclick: () => app.leave() }, SAYS.others))),
  ];
}
