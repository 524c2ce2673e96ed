// What the observer's screen shows for a state. Only what is needed now; no margins and no quantities: they read as
// permission.

import { over, ownWay, walked } from "./after.js";
import { h, icons } from "./drawing.js";
import { answerScreen, held, holdCard } from "./holding.js";
import { time } from "./shown.js";
import { stepScreen, stopPoint } from "./steps.js";

export { Shown } from "./shown.js";

const SCREENS = { "stop-point": stopPoint, step: stepScreen, held, answer: answerScreen, "hold-card": holdCard, walked, over };

/** {kind, edge, strip, body, night} for the state that is shown. */
export function drawn(app, shown) {
  const dark = ["held", "answer", "hold-card"].includes(shown.kind);
  const still = (...words) => h("div", { class: "stop-edge", role: "status" }, icons.hand(), ...words);
  const kind = shown.kind;
  const edge = dark
    ? still(h("b", {}, "HELD"), h("small", {}, `step ${shown.place + 1}`, h("br"), `since ${time(shown.state.held.at)}`))
    : shown.kind === "over" || shown.kind === "walked"
      ? still(h("small", {}, shown.kind === "over" ? `entry ${shown.state.stage}` : "last step done"))
      : h("button", { type: "button", class: "stop-edge", "data-stop": true, "data-press": "stopped", onclick: () => app.press("stopped", { step: shown.steps[0].id }) },
          icons.hand(), h("b", {}, "STOP"));
  const phase = ownWay(shown) ?? (shown.course.name !== "plan" ? "the approved answer"
    : { doffing: "way out", after: "way out", entry: "inside" }[shown.steps[0]?.phase] ?? "before going in");
  const strip = [
    h("span", {}, h("b", {}, shown.people.get(shown.state.wearer)?.name ?? ""), `, ${phase}`),
    h("span", { class: "title" }, shown.carried.approval.title),
    shown.bundle.drill ? h("span", { class: "mark" }, "Drill") : null,
    shown.bundle.invented ? h("span", { class: "mark" }, `${shown.bundle.unit}, invented`) : null,
  ];
  return { kind, edge, strip, body: SCREENS[kind](app, shown), night: dark };
}
