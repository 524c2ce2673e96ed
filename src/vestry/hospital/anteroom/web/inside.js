// While the wearer is inside: the time, what crosses the door, a change of gloves, relief, and the way out.

import { h } from "./drawing.js";
import { leftInWords, run } from "./clocks.js";
import { button } from "./parts.js";
import { phrase, say } from "./say.js";
import { capital, time } from "./shown.js";
import { ticking } from "./ticking.js";

const WORDS = {
  inside: (who) => phrase`${who} is inside.`,
  limit: (minutes) => phrase`of ${minutes} minutes, the unit's limit`,
  crosses: "Something crosses the door", gloves: "Change of gloves", relief: "Relief called", out: "The way out begins",
  crossed: "Across the door so far", nothing: "Nothing has crossed the door yet.",
  which: "What crosses the door?", other: "Something else", back: "Back to the step",
  wipe: "Wiped", unwiped: "Not wiped yet", label: "Label", receiver: "Who receives it", name: "What it is",
  asksWipe: "Wipe it before it crosses.", done: "It has crossed", out_: "out", in_: "in",
  gloveTitle: "Change of gloves inside", gloveDone: "Changed, and seen",
  own: (one) => phrase`The unit's own text, version ${one.version ?? 0}, ${one.since ?? ""} UTC, ${one.by ?? ""}`,
  notOwn: "A default text: the unit has not approved its own yet.", none: "No order for this is approved. Call the shift lead.",
  reliefSaid: (at) => phrase`Relief was called at ${at}.`,
};

/** Whose text it is that stands here: the unit's own, which version of it and by whom; or not the unit's. */
export function whose(prepared) {
  if (!prepared) return null;
  return h("p", { class: "aside", "data-own": String(Boolean(prepared.own)) }, prepared.own ? WORDS.own(prepared) : WORDS.notOwn);
}

export function backKey(app) {
  return h("button", { type: "button", onclick: () => app.open(null) }, WORDS.back);
}

export function inside(app, shown) {
  const { state, bundle } = shown;
  const limit = bundle.clocks["limit-minutes"];
  const said = { step: shown.steps[0].id };
  const view = (name, says) => h("button", { type: "button", "data-view": name, onclick: () => app.open({ name }) }, says);
  const relief = state.noted.filter((one) => one.kind === "relief-called").at(-1);
  const list = state.crossings.slice(-4).map((one) => h("li", {}, h("b", {}, time(one.at)), " ", crossed(bundle, one)));
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" },
      h("div", { class: "who" }, h("h1", { class: "on" }, WORDS.inside(shown.given("wearer")))),
      h("div", { class: "reading" },
        ticking("inside", () => run(app.spans().inside ?? 0), { large: true }),
        h("p", { class: "say" }, ticking("left", () => leftInWords(app.spans().left ?? 0)), " ", h("span", { class: "aside" }, bundle.clocks["limit-says"] || WORDS.limit(limit)))),
      relief ? h("p", { class: "aside" }, WORDS.reliefSaid(time(relief.at))) : null,
      h("h2", { class: "sub" }, WORDS.crossed), list.length ? h("ul", { class: "crossings" }, list) : h("p", { class: "aside" }, WORDS.nothing))),
    h("div", { class: "low" }, h("div", { class: "keys" },
      view("crossing", WORDS.crosses), view("gloves", WORDS.gloves),
      button(app, "relief-called", WORDS.relief, { said }),
      button(app, "coming-out", WORDS.out, { go: true, said }))),
  ];
}

function crossed(bundle, one) {
  const name = bundle["door-things"]?.find((thing) => thing.id === one.item)?.name ?? one.item;
  const way = say({ out: WORDS.out_, in: WORDS.in_ }[one.direction] ?? "");
  return [capital(name), way, one.wiped ? say("wiped") : null, one.label, one.receiver && phrase`to ${one.receiver}`].filter(Boolean).join(", ");
}

/** Two screens: which sort of thing, then what is asked of it. Only the last press says something. */
export function crossing(app, shown) {
  const things = shown.bundle["door-things"] ?? [];
  const thing = things.find((one) => one.id === app.view.item) ?? (app.view.item === "other" ? { id: "", name: WORDS.other, direction: "out", asks: ["wipe", "label", "receiver"] } : null);
  if (!thing) {
    const key = (item, name, more) => h("button", { type: "button", "data-item": item, onclick: () => app.open({ name: "crossing", item }) }, name, more ? h("small", {}, more) : null);
    return [
      h("div", { class: "stage bare" }, h("div", { class: "head" }, h("h1", { class: "act long" }, WORDS.which),
        h("div", { class: "choices" }, things.map((one) => key(one.id, capital(one.name), one.direction === "out" ? WORDS.out_ : WORDS.in_)), key("other", WORDS.other)))),
      h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app))),
    ];
  }
  const input = (id, label, needed) => [h("label", { for: id }, label), h("input", { id, maxlength: "200", autocomplete: "off", required: needed })];
  const name = thing.id ? null : input("item", WORDS.name, true);
  const label = thing.asks.includes("label") ? input("label", WORDS.label, false) : null;
  const receiver = thing.asks.includes("receiver") ? input("receiver", WORDS.receiver, false) : null;
  const wiped = thing.asks.includes("wipe")
    ? h("button", { type: "button", "aria-pressed": "false", class: "toggle", "data-wiped": true, onclick: (event) => {
        const key = event.currentTarget;
        const now = key.getAttribute("aria-pressed") !== "true";
        key.setAttribute("aria-pressed", String(now));
        key.textContent = now ? `✓ ${say(WORDS.wipe)}` : say(WORDS.unwiped);
      } }, WORDS.unwiped) : null;
  const take = (event) => {
    event.preventDefault();
    app.press("item-crossed", {
      item: thing.id || name[1].value.trim(), direction: thing.direction, label: label?.[1].value.trim(), receiver: receiver?.[1].value.trim(),
      ...(wiped ? { wiped: wiped.getAttribute("aria-pressed") === "true" } : {}),
    });
  };
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" }, h("h1", { class: "act long" }, capital(thing.name)),
      wiped ? h("p", { class: "say" }, WORDS.asksWipe) : null,
      h("form", { class: "plain", id: "crossing", onsubmit: take }, name, wiped, label, receiver))),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app), h("button", { class: "go", "data-primary": true, form: "crossing", "data-press": "item-crossed" }, WORDS.done))),
  ];
}

export function gloves(app, shown) {
  const one = shown.bundle.prepared?.find((text) => text.id === "glove-change-inside");
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" }, h("h1", { class: "act long" }, WORDS.gloveTitle),
      one ? h("ol", { class: "sequence" }, one.lines.map((line) => h("li", {}, line))) : h("p", { class: "say" }, WORDS.none), whose(one))),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app), button(app, "glove-changed", WORDS.gloveDone, { go: true, said: { step: shown.steps[0].id } }))),
  ];
}
