// What the observer's screen shows for a state. Only what is needed now; no margins and no quantities: they read as
// permission.

import { over, ownWay, walked } from "./after.js";
import { beforeBody, beforeOf } from "./before.js";
import { breachKey } from "./breach.js";
import { h, icons } from "./drawing.js";
import { band, drillWhere, whichDrill } from "./drilling.js";
import { handOver } from "./handover.js";
import { answerScreen, held, holdCard } from "./holding.js";
import { crossing, gloves, inside } from "./inside.js";
import { leftInWords, run } from "./clocks.js";
import { marking } from "./marking.js";
import { overriding } from "./overriding.js";
import { phrase, say } from "./say.js";
import { time } from "./shown.js";
import { stepScreen, stopPoint } from "./steps.js";
import { ticking } from "./ticking.js";
import { trouble, troubleKey, whichTrouble } from "./trouble.js";

export { Shown } from "./shown.js";

const SCREENS = {
  "stop-point": stopPoint, step: stepScreen, inside, held, trouble, answer: answerScreen, "hold-card": holdCard, walked, over,
};
/** Beside the steps: opened by a key, and no event says so. */
const VIEWS = { crossing, gloves, marking, "which-trouble": whichTrouble, "hand-over": handOver, override: overriding, drill: whichDrill, "drill-where": drillWhere };

/** The one word of the edge: smaller where a language has a longer one. */
function large(word) {
  return h("b", { class: [...say(word)].length > 5 ? "longer" : null }, say(word));
}

/** {kind, edge, strip, body, night} for the state that is shown. */
export function drawn(app, shown) {
  const dark = ["held", "trouble", "answer", "hold-card"].includes(shown.kind);
  const still = (...words) => h("div", { class: "stop-edge", role: "status" }, icons.hand(), ...words);
  const before = app.view?.name in VIEWS ? null : beforeOf(app.bundle, shown);
  const kind = app.view?.name in VIEWS ? app.view.name : before ? "before" : shown.kind;
  const ended = shown.kind === "over" || shown.kind === "walked";
  const stop = dark
    ? still(large("HELD"), h("small", {}, phrase`step ${shown.place + 1}`, h("br"), phrase`since ${time(shown.state.held.at)}`))
    : ended
      ? still(h("small", {}, { closed: "entry closed", abandoned: "entry ended early" }[shown.state.stage] ?? "last step done"))
      : h("button", { type: "button", class: "stop-edge", "data-stop": true, "data-press": "stopped", onclick: () => app.press("stopped", { step: shown.steps[0].id }) },
          icons.hand(), large("STOP"));
  const phase = ownWay(shown) ?? (shown.course.name !== "plan" ? "the approved answer"
    : { doffing: "way out", after: "way out", entry: "inside" }[shown.steps[0]?.phase] ?? "before going in");
  const edge = [stop, breachKey(app), ended || shown.kind === "trouble" ? null : troubleKey(app)];
  const { inside: within, total } = app.spans();
  const strip = [
    h("span", {}, h("b", {}, shown.people.get(shown.state.wearer)?.name ?? ""), ", ", phase),
    // Out, the time inside stands still: beside another's way out it read as if the wearer were still in.
    within !== null && !ended && kind !== "inside" && !shown.state["left-at"] ? h("span", { class: "within" }, "inside ", ticking("inside", () => run(app.spans().inside ?? 0)), ", ",
      ticking("left", () => leftInWords(app.spans().left ?? 0))) : null,
    total === null || ended ? null : h("span", {}, "entry ", ticking("total", () => run(app.spans().total ?? 0))),
    within === null ? h("span", { class: "title" }, shown.carried.approval.title) : null,
    shown.bundle.drill ? h("span", { class: "mark" }, "Drill") : null,
    shown.bundle.invented ? h("span", { class: "mark unit" }, phrase`${shown.bundle.unit}, invented`) : null,
  ];
  const body = before ? beforeBody(app, shown, before) : (VIEWS[kind] ?? SCREENS[kind])(app, shown);
  return { kind, edge, strip, body: [band(shown), ...body], night: dark };
}
