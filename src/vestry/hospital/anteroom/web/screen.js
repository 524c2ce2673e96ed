// What the observer's screen shows for a state: a spoken stop, a step, a held step, the approved answer, the hold card,
// the last step done, the end. Only what is needed now; no margins and no quantities: they read as permission.

import { figure, floor, h, icons } from "./drawing.js";
import { actual, stillHere } from "./interpret.js";
import { groupEnd } from "./now.js";
import { offered } from "./offering.js";

const SIZES = [["short", 22, 3], ["middle", 28, 4], ["long", 36, 5]];

export function sentences(text) {
  return text.trim().split(/(?<=[.?!])\s+/);
}

function size(text) {
  const fits = ([, across, most]) => sentences(text).reduce((n, one) => n + Math.ceil(one.length / across), 0) <= most;
  return SIZES.find(fits)?.[0] ?? "longer";
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

const time = (clock) => (clock ? new Date(clock).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" }) : "");

/** Everything that the screen needs to know, worked out from bundle and state. */
export class Shown {
  constructor(bundle, led, state) {
    const { carried } = bundle;
    Object.assign(this, { bundle, carried, led, state, words: carried.words });
    this.course = state.course === "plan" ? led.plan : led.recoveries.get(state.course);
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
      if (!state.held.happened) return "held";
      this.answer = offered(this.carried, this.led, state);
      return this.answer ? "answer" : "hold-card";
    }
    if (state.position >= this.course.steps.length) return "walked";
    const step = this.course.steps[state.position];
    return step["stop-point"] && !this.record(step)?.["stop-said-at"] ? "stop-point" : "step";
  }

  record(step) {
    return this.state.steps.find((one) => one.course === this.course.name && one.step === step.id) ?? null;
  }

  line(step) {
    return this.words.lines[this.carried.steps.findIndex((one) => one === step)];
  }

  given(part) {
    const who = this.people.get(this.state[part]);
    return who?.given ?? { wearer: "The wearer", observer: "The observer", assistant: "The assistant" }[part];
  }

  event(id) {
    return { "not-sure": "not sure what happened", "something-else": "something else" }[id] ?? this.words.events[id] ?? id;
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

  names(surfaces) {
    const named = surfaces.map((one) => (this.words.surfaces[one] ?? one).replace(/^(left|right) /, ""));
    return [...new Set(named)].slice(0, 2).join(" or ");
  }
}

// ---- parts ----

function button(app, press, says, { go = false, said = {}, name = "", ...more } = {}) {
  return h(
    "button",
    { type: "button", class: go ? "go" : name || null, "data-press": press, "data-primary": go, onclick: () => app.press(press, said), ...more },
    go ? icons.pedal() : null,
    says,
  );
}

function picture(shown, plain) {
  const scene = shown.course.scenes[shown.place];
  const contaminated = shown.contaminated();
  const node = figure(shown.carried, scene, contaminated, { plain });
  const there = new Set([...(node?.querySelectorAll("[data-surface]") ?? [])].map((one) => one.getAttribute("data-surface")));
  // Skin and mucosa behind a visor or under clothing have no place of their own in the drawing: they are told in words.
  const untold = [...contaminated].filter((one) => one.startsWith("body.") && !there.has(one)).map((one) => shown.words.surfaces[one] ?? one);
  const more = [
    untold.length ? h("p", { class: "more", "data-undrawn": true }, `May be contaminated, not drawn: ${untold.join(", ")}.`) : null,
    shown.actual.whole ? null : h("p", { class: "more" }, "More may be contaminated than is drawn."),
  ];
  return node || more.some(Boolean) ? h("div", { class: "whole" }, node, more) : null;
}

function act(text) {
  return h("h1", { class: `act ${size(text)}` }, sentences(text).map((one) => h("span", {}, one)));
}

function does(shown, step) {
  const who = shown.given(step.who === "observer" || step.who === "assistant" ? step.who : "wearer");
  const helps = { both: "assistant", "wearer-and-observer": "observer" }[step.who];
  if (helps) return `${shown.given("wearer")} and ${shown.given(helps)} do this`;
  return `${who} ${{ inspect: "looks", confirm: "confirms" }[step.act] ?? "does this"}`;
}

function marks(shown, step) {
  const view = shown.carried.views[shown.course.scenes[shown.place]?.view ?? -1];
  const listed = (icon, bold, words) => h("li", {}, icon(), h("span", {}, h("b", {}, bold), words ? ` ${words}` : ""));
  const { waste } = shown.line(step);
  return h(
    "ul",
    { class: "marks" },
    view?.grasp.length ? listed(icons.ring, "grasp", shown.names(view.grasp)) : null,
    view?.avoid.length ? listed(icons.cross, "do not touch", shown.names(view.avoid)) : null,
    view && shown.contaminated().size ? listed(icons.hatch, "may be contaminated") : null,
    waste ? listed(icons.bin, "into", waste) : null,
  );
}

function low(shown, ...keys) {
  const isDone = (step) => Boolean(shown.record(step)?.["done-at"]);
  return h("div", { class: "low" }, floor(shown.course.steps, shown.state.position, isDone), h("div", { class: "keys" }, ...keys));
}

// ---- the screens ----

function stopPoint(app, shown) {
  const [step] = shown.steps;
  const stop = shown.words.stops[step["stop-point"]];
  const who = h("div", { class: "who" }, h("span", { class: "on" }, `${shown.given("observer")} says this aloud`), h("span", { class: "step" }, stop.name));
  return [
    h("main", { class: "stage" }, h("div", { class: "head" }, who, act(stop.say)), picture(shown, true)),
    low(shown, button(app, "stop-said", "Said, and heard", { go: true, said: { step: step.id } })),
  ];
}

function stepScreen(app, shown) {
  const { steps, state } = shown;
  const [first] = steps;
  const record = shown.record(first);
  const said = { step: first.id };
  const number = shown.place + 1;
  const until = steps.length > 1 ? ` to ${number + steps.length - 1}` : "";
  const head = h(
    "div",
    { class: "head" },
    h("div", { class: "who" },
      h("span", { class: "on" }, steps.length > 1 ? "One after the other, without a pause" : does(shown, first)),
      h("span", { class: "step num" }, `step ${number}${until} of ${shown.course.steps.length}`)),
    steps.length > 1
      ? h("h1", { class: "act longer" }, h("ol", {}, steps.map((one) => h("li", {}, shown.line(one).say))))
      : act(shown.line(first).say),
  );
  const rest = h(
    "div",
    { class: "rest" },
    h("div", { class: "watch" }, icons.eye(), h("small", {}, "Watch"), shown.line(steps.at(-1)).watch),
    marks(shown, first),
    record?.["acknowledged-at"] ? h("p", { class: "aside" }, h("b", {}, "Acknowledged"), ` by ${shown.given("wearer")}`) : null,
    record?.prompted ? h("p", { class: "aside" }, h("b", {}, "Prompted"), record.prompted > 1 ? ` ${record.prompted} times` : " once") : null,
  );
  const read = Boolean(record?.["read-at"]) || state["one-press"];
  const keys = read
    ? [
        button(app, "done-not-seen", "Not seen", { said }),
        button(app, "prompted", "Prompted", { said }),
        record?.["acknowledged-at"] || state["one-press"] ? null : button(app, "acknowledged", "Acknowledged", { said }),
        button(app, "done-seen", "Done and seen", { go: true, said }),
      ]
    : [button(app, "read", "Read aloud", { go: true, said })];
  return [h("main", { class: "stage" }, head, rest, picture(shown, false)), low(shown, ...keys.filter(Boolean))];
}

function chosen(app, press, label, options, step) {
  const select = h("select", { "aria-label": label }, options.map(([value, says]) => h("option", { value }, capital(says))));
  return h("form", { class: "choose", onsubmit: (event) => { event.preventDefault(); app.press(press, { step, what: select.value }); } },
    select, h("button", { "data-press": press }, label));
}

function held(app, shown) {
  const step = shown.state.held.step;
  const ways = shown.steps.flatMap((one, offset) =>
    (shown.course.scenes[shown.place + offset]?.slips ?? []).map((slip) =>
      button(app, "went-otherwise", capital(shown.event(slip)), { said: { step: one.id, events: slip } })));
  const worn = shown.state.worn;
  const faces = shown.carried.program.surfaces.filter((one) => worn.includes(one.split(".", 1)[0]) && shown.words.surfaces[one]);
  return [
    h("main", { class: "stage" },
      h("div", { class: "head" },
        h("h1", { class: "hold" }, h("span", {}, "Hands still."), h("span", {}, "Away from the face.")),
        h("p", { class: "say-now" }, `Say it now. Wait until ${shown.given("wearer")} is still, then say what happened.`)),
      picture(shown, true)),
    h("section", { class: "tell" },
      h("h2", {}, "What happened at this step? ", h("span", {}, "The approved answer follows.")),
      h("div", { class: "ways" }, ways,
        button(app, "went-otherwise", "Not sure", { name: "unsure", said: { step, events: "not-sure" } }),
        button(app, "went-otherwise", "Something else", { said: { step, events: "something-else" } }),
        worn.length ? chosen(app, "tear", "This tore", worn.map((one) => [one, shown.words.items[one] ?? one]), step) : null,
        faces.length ? chosen(app, "soiling", "This is soiled", faces.map((one) => [one, shown.words.surfaces[one]]), step) : null,
        button(app, "pressed-wrongly", "Pressed wrongly, nothing happened", { name: "quiet", said: { step } }))),
  ];
}

function happenedLine(shown) {
  const { happened } = shown.state.held;
  const touched = happened.touched && (shown.words.surfaces[happened.touched] ?? shown.words.items[happened.touched] ?? happened.touched);
  const what = { tear: "torn", soiling: "soiled", "zone-crossed": "the line was crossed" }[happened.kind];
  const says = what ? (touched ? `${touched} ${what}` : what) : happened.events.map((one) => shown.event(one)).join(" · ");
  return h("p", { class: "say-now" }, `${capital(says)}.`);
}

function answerScreen(app, shown) {
  const { answer, state } = shown;
  const at = shown.led.plan.steps.find((one) => one.id === state.held.happened.step);
  const course = shown.led.recoveries.get(answer.name);
  const card = (name, title, ...more) => h("div", { class: `card ${name}` }, h("h2", {}, title), ...more);
  return [
    h("main", { class: "stage" },
      h("div", { class: "head" }, happenedLine(shown), h("h1", { class: "hold" }, h("span", {}, "Hands still."), h("span", {}, "Here is the answer."))),
      picture(shown, true)),
    h("section", { class: "tell" }, h("div", { class: "cards" },
      answer.exposed.length ? card("contam", "May have been reached",
        h("p", {}, capital(answer.exposed.map((one) => shown.words.surfaces[one] ?? one).join(", "))),
        h("p", {}, "First aid by the unit's own text at the end of this way out. Tell occupational health.")) : null,
      card("", "First, finish this step", h("p", {}, shown.line(at).say)),
      card("", `Then the unit's approved answer, ${course.steps.length} steps`,
        h("ol", {}, course.steps.map((one) => h("li", {}, shown.line(one).short)))))),
    h("section", { class: "tell" }, h("div", { class: "ways" },
      button(app, "recovery-taken", "Step finished. Lead the answer", { go: true, said: { step: at.id, recovery: answer.name } }),
      button(app, "went-otherwise", "It does not fit: more happened", { said: { step: state.held.step, events: "something-else" } }))),
  ];
}

function holdCard(app, shown) {
  const step = shown.state.held.step;
  const before = ["before", "donning"].includes(shown.steps[0]?.phase);
  const by = h("input", { type: "text", id: "by", maxlength: "120", autocomplete: "off", required: !before });
  const decided = h("input", { type: "text", id: "decided", maxlength: "1000", autocomplete: "off", required: !before });
  const why = h("input", { type: "text", id: "why", maxlength: "1000", autocomplete: "off", required: true });
  const form = (press, said, ...inside) => h("form", { onsubmit: (event) => { event.preventDefault(); app.press(press, said()); } }, ...inside);
  const head = before
    ? [h("h1", { class: "hold" }, h("span", {}, "Stop. Put it right.")),
       h("p", { class: "say-now" }, `${shown.given("wearer")} has not gone in. Change what is torn or wrongly on, begin donning again where needed, then go on.`)]
    : [h("h1", { class: "hold" }, h("span", {}, "Stay as you are."), h("span", {}, "Call the shift lead.")),
       h("p", { class: "say-now" }, "Nothing comes off. No approved answer fits: the shift lead and infection prevention decide.")];
  return [
    h("main", { class: "stage" }, h("div", { class: "head" }, happenedLine(shown), ...head), picture(shown, true)),
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

function walked(app, shown) {
  return [
    h("main", { class: "stage" }, h("div", { class: "head" },
      h("div", { class: "who" }, h("span", { class: "on" }, `${shown.given("wearer")} is on the clean side`)),
      act("Every step is done."),
      h("p", { class: "aside" }, "Wipe the tablet, its stand and the pedal. Turn the lane around: seat, floor, bins, what is used up."))),
    low(shown, button(app, "closed", "Close the entry", { go: true })),
  ];
}

function over(app, shown) {
  const ended = shown.state.stage === "closed" ? "The entry is closed." : "The entry ended early.";
  return [
    h("main", { class: "stage" }, h("div", { class: "head" }, act(ended),
      h("p", { class: "aside" }, "Leave this tablet on until everything is sent: the number stands above."))),
    h("div", { class: "low" }, h("div", { class: "keys" }, h("button", { type: "button", class: "go", onclick: () => app.leave() }, "Other entries"))),
  ];
}

const SCREENS = { "stop-point": stopPoint, step: stepScreen, held, answer: answerScreen, "hold-card": holdCard, walked, over };

/** {edge, strip, body, night} for the state that is shown. */
export function drawn(app, shown) {
  const dark = ["held", "answer", "hold-card"].includes(shown.kind);
  const still = (...words) => h("div", { class: "stop-edge", role: "status" }, icons.hand(), ...words);
  const edge = dark
    ? still(h("b", {}, "HELD"), h("small", {}, `step ${shown.place + 1}`, h("br"), `since ${time(shown.state.held.at)}`))
    : shown.kind === "over" || shown.kind === "walked"
      ? still(h("small", {}, shown.kind === "over" ? `entry ${shown.state.stage}` : "last step done"))
      : h("button", { type: "button", class: "stop-edge", "data-stop": true, "data-press": "stopped", onclick: () => app.press("stopped", { step: shown.steps[0].id }) },
          icons.hand(), h("b", {}, "STOP"));
  const phase = shown.course.name !== "plan" ? "the approved answer"
    : { doffing: "way out", after: "way out", entry: "inside" }[shown.steps[0]?.phase] ?? "before going in";
  const strip = [
    h("span", {}, h("b", {}, shown.people.get(shown.state.wearer)?.name ?? ""), `, ${phase}`),
    h("span", { class: "title" }, shown.carried.approval.title),
    shown.bundle.drill ? h("span", { class: "mark" }, "Drill") : null,
    shown.bundle.invented ? h("span", { class: "mark" }, `${shown.bundle.unit}, invented`) : null,
  ];
  return { edge, strip, body: SCREENS[shown.kind](app, shown), night: dark };
}
