// The steps as they are led: a spoken stop, a step or an unbroken group, the last one done, the end.

import { h, icons } from "./drawing.js";
import { hygieneOf, run } from "./clocks.js";
import { act, button, does, low, marks, picture } from "./parts.js";
import { phrase, say, sayMany } from "./say.js";
import { ticking } from "./ticking.js";

export function stopPoint(app, shown) {
  const [step] = shown.steps;
  const stop = shown.words.stops[step["stop-point"]];
  const who = h("div", { class: "who" }, h("span", { class: "on" }, phrase`${shown.given("observer")} says this aloud`), h("span", { class: "step" }, stop.name));
  return [
    h("div", { class: "stage" }, h("div", { class: "head" }, who, act(stop.say)), picture(shown, true)),
    low(shown, button(app, "stop-said", "Said, and heard", { go: true, said: { step: step.id } })),
  ];
}

export function stepScreen(app, shown) {
  const { steps, state } = shown;
  const [first] = steps;
  const record = shown.record(first);
  const said = { step: first.id };
  const number = shown.place + 1;
  const count = shown.course.steps.length;
  const head = h(
    "div",
    { class: "head" },
    h("div", { class: "who" },
      h("span", { class: "on" }, steps.length > 1 ? "One after the other, without a pause" : does(shown, first)),
      h("span", { class: "step num" }, steps.length > 1 ? phrase`steps ${number} to ${number + steps.length - 1} of ${count}` : phrase`step ${number} of ${count}`)),
    steps.length > 1
      ? h("h1", { class: "act longer" }, h("ol", {}, steps.map((one) => h("li", {}, shown.line(one).say))))
      : act(shown.line(first).say),
  );
  const rest = h(
    "div",
    { class: "rest" },
    h("div", { class: "watch" }, icons.eye(), h("small", {}, "Watch"), shown.line(steps.at(-1)).watch),
    marks(shown, first),
    record?.["acknowledged-at"] ? h("p", { class: "said" }, phrase`Acknowledged by ${shown.given("wearer")}`) : null,
    record?.prompted ? h("p", { class: "aside" }, sayMany(record.prompted, "Prompted once", "Prompted {} times")) : null,
  );
  const read = Boolean(record?.["read-at"]) || state["one-press"];
  const timed = steps.length === 1 && read ? hygieneOf(shown.bundle.clocks, first) : null;
  if (timed) return rub(app, shown, { head, rest, timed, said });
  const keys = read
    ? [
        button(app, "done-not-seen", "Not seen", { said }),
        button(app, "prompted", "Prompted", { said }),
        record?.["acknowledged-at"] || state["one-press"] ? null : button(app, "acknowledged", "Acknowledged", { said }),
        button(app, "done-seen", "Done and seen", { go: true, said }),
      ]
    : [button(app, "read", "Read aloud", { go: true, said })];
  return [h("div", { class: "stage" }, head, rest, picture(shown, false)), low(shown, ...keys.filter(Boolean))];
}

const RUB = {
  rub: (usual) => usual ? phrase`Usually ${usual} seconds. It ends when seen dry and covered, not at a number.` : say("It ends when seen dry and covered, not at a number."),
  contact: (usual) => usual ? phrase`Wet for ${usual} seconds, or as the label says. It ends as seen, not at a number.` : say("It ends as seen, not at a number."),
  own: (one) => one.product
    ? phrase`The unit's own time for ${one.product}, since ${one.since ?? ""}, ${one.by ?? ""}`
    : phrase`The unit's own time, since ${one.since ?? ""}, ${one.by ?? ""}`,
  notOwn: "Not the unit's own time: what is shipped.",
  done: { hands: "Dry and covered", gloves: "Dry and covered", surfaces: "Wet to the end" },
  again: "Ended early, and recorded. Begin it again.", early: "Ended early", notSeen: "Not seen", prompted: "Prompted",
};

/** A rub or a wipe, once it is read: the clock runs, large; it informs. */
function rub(app, shown, { head, rest, timed, said }) {
  const lasted = () => app.rubbed(shown.steps[0]);
  const seconds = () => String(Math.round((lasted() ?? 0) / 1000));
  const early = shown.state.noted.filter((one) => one.kind === "hygiene-timed" && one.step === said.step && one.note === "short").length;
  const press = (name, says, more = {}) => h("button", { type: "button", "data-press": name, ...more, onclick: () => app.press(name, { ...said, seconds: seconds() }) }, more.class ? icons.pedal() : null, says);
  rest.prepend(h("div", { class: "reading" }, ticking("rub", () => run(lasted() ?? 0), { large: true }),
    h("p", { class: "say" }, RUB[timed.sort](timed.seconds)),
    timed.seconds ? h("p", { class: "aside", "data-own": String(Boolean(timed.own)) }, timed.own ? RUB.own(timed) : RUB.notOwn) : null),
    early ? h("p", { class: "say" }, h("b", {}, RUB.again)) : "");
  return [h("div", { class: "stage" }, head, rest, picture(shown, false)), low(shown,
    ...[button(app, "done-not-seen", RUB.notSeen, { said }), button(app, "prompted", RUB.prompted, { said }),
      press("ended-early", RUB.early), press("done-seen", RUB.done[timed.on], { class: "go", "data-primary": true })])];
}
