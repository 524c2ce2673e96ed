// A held step: what happened, the approved answer, the hold card.

import { h } from "./drawing.js";
import { whose } from "./inside.js";
import { button, foremost, picture } from "./parts.js";
import { listOf, phrase, say, sayMany } from "./say.js";
import { capital } from "./shown.js";

export function held(app, shown) {
  const step = shown.state.held.step;
  const ways = shown.steps.flatMap((one, offset) =>
    (shown.course.scenes[shown.place + offset]?.slips ?? []).map((slip) =>
      button(app, "went-otherwise", capital(shown.event(slip)), { said: { step: one.id, events: slip } })));
  return [
    h("div", { class: "stage" },
      h("div", { class: "head" },
        h("h1", { class: "hold" }, h("span", {}, "Hands still."), h("span", {}, "Away from the face.")),
        h("p", { class: "say-now" }, phrase`Say it now. Wait until ${shown.given("wearer")} is still, then say what happened.`)),
      picture(shown, true)),
    h("section", { class: "tell" },
      h("h2", {}, "What happened at this step? ", h("span", {}, "The approved answer follows.")),
      h("div", { class: "ways" }, ways,
        button(app, "went-otherwise", "Not sure", { name: "unsure", said: { step, events: "not-sure" } }),
        button(app, "went-otherwise", "Something else", { said: { step, events: "something-else" } }),
        h("button", { type: "button", "data-view": "marking", onclick: () => app.open({ name: "marking" }) }, "Torn or soiled: show where"),
        button(app, "zone-crossed", "The line was crossed", { said: { step } }),
        button(app, "pressed-wrongly", "Pressed wrongly, nothing happened", { name: "quiet", said: { step } }))),
  ];
}

const TORN = (what) => (what ? phrase`${what}: torn` : say("torn"));
const SOILED = (what) => (what ? phrase`${what}: soiled` : say("soiled"));

export function happenedLine(shown) {
  const { happened } = shown.state.held;
  const touched = happened.touched && (shown.words.surfaces[happened.touched] ?? shown.words.items[happened.touched] ?? happened.touched);
  const said = { tear: TORN, soiling: SOILED, "zone-crossed": () => say("the line was crossed") }[happened.kind];
  const says = said ? said(touched) : happened.events.map((one) => shown.event(one)).join(" · ");
  return h("p", { class: "say-now" }, `${capital(says)}.`);
}

export function answerScreen(app, shown) {
  const { answer, state } = shown;
  const at = shown.led.plan.steps.find((one) => one.id === state.held.happened.step);
  const course = shown.led.recoveries.get(answer.name);
  const card = (name, title, ...more) => h("div", { class: `card ${name}` }, h("h2", {}, title), ...more);
  return [
    h("div", { class: "stage" },
      h("div", { class: "head" }, happenedLine(shown), h("h1", { class: "hold" }, h("span", {}, "Hands still."), h("span", {}, "Here is the answer."))),
      picture(shown, true)),
    h("section", { class: "tell" }, h("div", { class: "cards" },
      answer.exposed.length ? card("contam", "May have been reached",
        h("p", {}, capital(listOf(answer.exposed.map((one) => shown.words.surfaces[one] ?? one)))),
        h("p", {}, "First aid by the unit's own text at the end of this way out. Tell occupational health.")) : null,
      card("", "First, finish this step", h("p", {}, shown.line(at).say)),
      card("then", sayMany(course.steps.length, "Then the unit's approved answer, {} step", "Then the unit's approved answer, {} steps"),
        h("ol", {}, course.steps.map((one) => h("li", {}, shown.line(one).short)))))),
    foremost(button(app, "recovery-taken", "Step finished. Lead the answer", { go: true, said: { step: at.id, recovery: answer.name } })),
    h("section", { class: "tell" }, h("div", { class: "ways" },
      button(app, "went-otherwise", "It does not fit: more happened", { said: { step: state.held.step, events: "something-else" } }))),
  ];
}

export function holdCard(app, shown) {
  const step = shown.state.held.step;
  const before = ["before", "donning"].includes(shown.steps[0]?.phase);
  const by = h("input", { type: "text", id: "by", maxlength: "120", autocomplete: "off", required: !before });
  const decided = h("input", { type: "text", id: "decided", maxlength: "1000", autocomplete: "off", required: !before });
  const why = h("input", { type: "text", id: "why", maxlength: "1000", autocomplete: "off", required: true });
  const form = (press, said, ...inside) => h("form", { onsubmit: (event) => { event.preventDefault(); app.press(press, said()); } }, ...inside);
  const head = before
    ? [h("h1", { class: "hold" }, h("span", {}, "Stop. Put it right.")),
       h("p", { class: "say-now" }, phrase`${shown.given("wearer")} has not gone in. Change what is torn or wrongly on, begin donning again where needed, then go on.`)]
    : cardOf(shown);
  return [
    h("div", { class: "stage" }, h("div", { class: "head" }, happenedLine(shown), ...head), picture(shown, true)),
    h("section", { class: "tell" }, h("div", { class: "cards" },
      form("resumed", () => ({ step, by: by.value.trim(), reason: decided.value.trim() }),
        h("h2", {}, "Go on with this step"),
        before ? null : h("label", { for: "by" }, "Who decided"), before ? null : by,
        h("label", { for: "decided" }, "What was decided"), decided, h("button", { class: "go", "data-press": "resumed" }, "Go on")),
      form("abandoned", () => ({ reason: why.value.trim() }),
        h("h2", {}, "End this entry here"), h("label", { for: "why" }, "Reason"), why,
        h("button", { "data-press": "abandoned" }, "End it: led otherwise from here")))),
  ];
}

const LARGE = 40; // letters of a first sentence that are said in the largest type

/** The unit's own hold card; where it has written none, one that says so. */
function cardOf(shown) {
  const own = shown.bundle.prepared?.find((one) => one.id === "hold-card" && one.own);
  if (own) {
    const short = own.lines[0].length <= LARGE;
    const rest = short ? own.lines.slice(1) : own.lines;
    return [
      h("h1", { class: "hold" }, h("span", {}, short ? own.lines[0] : own.name)),
      rest.length ? h("ol", { class: "sequence" }, rest.map((line) => h("li", {}, line))) : null,
      whose(own),
    ];
  }
  return [
    h("h1", { class: "hold" }, h("span", {}, "Stay as you are."), h("span", {}, "Call the shift lead.")),
    h("p", { class: "say-now" }, "Nothing comes off. No approved answer fits: the shift lead and infection prevention decide."),
    whose({ own: false }),
  ];
}
