// The wearer is unwell, or the air is lost: short, prepared, in two presses from any step.

import { h } from "./drawing.js";
import { backKey, whose } from "./inside.js";
import { button, foremost } from "./parts.js";
import { answer, wornAfter } from "./offering.js";
import { say } from "./say.js";
import { capital, time } from "./shown.js";

const WORDS = {
  key: "Unwell or air lost", which: "What is it?", unwell: "Unwell", "lost-air": "Air lost",
  goOn: "Better: go on with the step", outNow: "The way out, now", end: "End this entry here", held: "STOP holds the step and the clocks.",
  approved: "The approved answer for this step", take: "Lead the approved answer", none: "Call the shift lead and the emergency team.",
};

/** The key under STOP, on every screen of an entry that is led. */
export function troubleKey(app) {
  return h("button", { type: "button", class: "help-edge", "data-view": "trouble", onclick: () => app.look({ name: "which-trouble" }) }, WORDS.key);
}

export function whichTrouble(app, shown) {
  const said = (what) => ({ step: shown.steps[0]?.id ?? "", what });
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" }, h("h1", { class: "act long" }, WORDS.which),
      h("div", { class: "choices two" }, ["unwell", "lost-air"].map((what) =>
        h("button", { type: "button", "data-press": what, onclick: () => app.press("trouble", said(what), true) }, WORDS[what]))))),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app))),
  ];
}

/** An answer that was approved for exactly this, at the step that is held; null where there is none. */
export function approvedFor(shown, what) {
  const { state, led } = shown;
  const step = led.plan.steps.find((one) => one.id === state.held.step);
  const now = shown.actual;
  if (state.course !== "plan" || !step || !now.whole || !now.after.has(step.id)) return null;
  const made = [...led.recoveries.values()].filter((one) => one.happened.includes(what));
  return answer(made, { at: step.id, events: [what], worn: wornAfter(state, step), contaminated: shown.contaminated() });
}

export function trouble(app, shown) {
  const { state } = shown;
  const what = state.held.trouble;
  const one = shown.bundle.prepared?.find((text) => text.id === what);
  const found = approvedFor(shown, what);
  const lines = found ? found.steps.map((step) => shown.line(step).short) : (one?.lines ?? [WORDS.none]);
  const step = state.held.step;
  const inside = state["entered-at"] && !state["left-at"] && !state["coming-out-at"];
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" },
      h("h1", { class: "hold" }, h("span", {}, `${capital(one?.name ?? what)}.`)),
      found ? h("p", { class: "say-now" }, WORDS.approved) : null,
      h("ol", { class: "sequence" }, lines.map((line) => h("li", {}, line))),
      found ? null : whose(one),
      h("p", { class: "aside" }, `${say(WORDS.held)} ${time(state.held.at)}`))),
    found || inside ? foremost(found
      ? button(app, "recovery-taken", WORDS.take, { go: true, said: { step, recovery: found.name } })
      : button(app, "out-of-trouble", WORDS.outNow, { go: true, said: { step, what } })) : null,
    h("section", { class: "tell" }, h("div", { class: "ways" },
      button(app, "resumed", WORDS.goOn, { said: { step, reason: `${what}-better` } }),
      button(app, "abandoned", WORDS.end, { name: "quiet", said: { reason: what } }))),
  ];
}
