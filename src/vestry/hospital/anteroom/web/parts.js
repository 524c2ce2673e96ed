// Parts that the screens share: a key, the picture, the sentence, the marks, the floor line.

import { figure, floor, h, icons } from "./drawing.js";
import { listOf, phrase } from "./say.js";
import { sentences, size } from "./shown.js";

export function button(app, press, says, { go = false, said = {}, name = "", ...more } = {}) {
  return h(
    "button",
    { type: "button", class: go ? "go" : name || null, "data-press": press, "data-primary": go, onclick: () => app.press(press, said), ...more },
    go ? icons.pedal() : null,
    says,
  );
}

export function picture(shown, plain) {
  const scene = shown.course.scenes[shown.place];
  const contaminated = shown.contaminated();
  const node = figure(shown.carried, scene, contaminated, { plain, drilled: new Set(shown.injected().map((one) => one.surface)) });
  const there = new Set([...(node?.querySelectorAll("[data-surface]") ?? [])].map((one) => one.getAttribute("data-surface")));
  // Skin and mucosa behind a visor or under clothing have no place of their own in the drawing: they are told in words.
  const untold = [...contaminated].filter((one) => one.startsWith("body.") && !there.has(one)).map((one) => shown.words.surfaces[one] ?? one);
  const more = [
    untold.length ? h("p", { class: "more", "data-undrawn": true }, phrase`May be contaminated, not drawn: ${listOf(untold)}.`) : null,
    node?.querySelector(".of-drill, .of-drill-too") ? h("p", { class: "more" }, "In the dashed frame: put in for the drill.") : null,
    shown.actual.whole ? null : h("p", { class: "more" }, "More may be contaminated than is drawn."),
  ];
  return node || more.some(Boolean) ? h("div", { class: "whole" }, node, more) : null;
}

export function act(text) {
  return h("h1", { class: `act ${size(text)}` }, sentences(text).map((one) => h("span", {}, one)));
}

export function does(shown, step) {
  const who = shown.given(step.who === "observer" || step.who === "assistant" ? step.who : "wearer");
  const helps = { both: "assistant", "wearer-and-observer": "observer" }[step.who];
  if (helps) return phrase`${shown.given("wearer")} and ${shown.given(helps)} do this`;
  if (step.act === "inspect") return phrase`${who} looks`;
  return step.act === "confirm" ? phrase`${who} confirms` : phrase`${who} does this`;
}

export function marks(shown, step) {
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

export function low(shown, ...keys) {
  const isDone = (step) => Boolean(shown.record(step)?.["done-at"]);
  return h("div", { class: "low" }, floor(shown.course.steps, shown.state.position, isDone), h("div", { class: "keys" }, ...keys));
}

/** The one key of a held screen that leads on: always in sight, however long what stands above it is. */
export function foremost(key) {
  return h("div", { class: "low" }, h("div", { class: "keys" }, key));
}
