// In a drill the trainer puts something in: a tear, a splash, a faint, lost air. It stands on the screen and on the figure as
// of the drill until the team answers it. It changes nothing that may be contaminated: what the team says of it does.

import { h } from "./drawing.js";
import { backKey } from "./inside.js";
import { places, touched } from "./marking.js";
import { phrase, say } from "./say.js";
import { capital } from "./shown.js";

const WORDS = {
  title: "The trainer", key: "Put something in for the drill", which: "What is put in?",
  says: "It is shown to everybody, marked as of the drill, until STOP is pressed or it is said what happened.",
  where: "Where? Touch the figure.", list: "Or choose it by name", choose: "Choose", put: "Put it in for the drill",
  drill: "Drill", act: "Act as if it were so.",
  kinds: { tear: "Torn", soiling: "Soiled", splash: "Splash to the face", unwell: "Unwell", "lost-air": "Air lost" },
  tear: (place) => phrase`${place}: torn`, soiling: (place) => phrase`${place}: soiled`,
};
const PLACED = { tear: true, soiling: true };

/** Among what is seldom needed: only where the entry is a drill, and is under way. */
export function drillCard(app) {
  if (!app.bundle.drill || !["under-way", "held"].includes(app.state.stage)) return null;
  return h("div", { class: "card" }, h("h2", {}, WORDS.title),
    h("button", { type: "button", "data-view": "drill", onclick: () => app.open({ name: "drill" }) }, WORDS.key));
}

function putIn(app, shown, what, surface) {
  app.press("drill-injected", { step: shown.steps[0]?.id ?? "", what, surface }, true);
}

export function whichDrill(app, shown) {
  const take = (what) => (PLACED[what] ? app.open({ name: "drill-where", what }) : putIn(app, shown, what, ""));
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" }, h("h1", { class: "act long" }, WORDS.which),
      h("p", { class: "aside" }, WORDS.says),
      h("div", { class: "choices" }, Object.entries(WORDS.kinds).map(([what, name]) =>
        h("button", { type: "button", "data-inject": what, onclick: () => take(what) }, name))))),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app))),
  ];
}

/** Where it is torn or soiled: on the figure, or by name. A tear is of something worn. */
export function drillWhere(app, shown) {
  const { what, near = [], surface = null } = app.view;
  const known = new Map(places(shown).filter(([one]) => what !== "tear" || !one.startsWith("body.")));
  const look = (more) => app.open({ name: "drill-where", what, ...more });
  const select = h("select", { id: "place", "aria-label": WORDS.list }, [...known].map(([value, name]) => h("option", { value }, name)));
  const list = h("form", { class: "choose", onsubmit: (event) => { event.preventDefault(); look({ near: [select.value], surface: select.value }); } },
    h("label", { for: "place" }, WORDS.list), select, h("button", { type: "submit", "data-choose": true }, WORDS.choose));
  const choose = (one) => h("button", { type: "button", "data-surface-key": one, "aria-pressed": String(one === surface), onclick: () => look({ near, surface: one }) }, known.get(one));
  const picture = touched(app, shown, known, shown.course.scenes[shown.place]);
  return [
    h("div", { class: "stage marking" },
      h("div", { class: "head" }, h("h1", { class: "act long" }, surface ? WORDS[what](known.get(surface)) : WORDS.where),
        near.length > 1 ? h("div", { class: "choices" }, near.map(choose)) : null, list),
      picture ? h("div", { class: "whole touch" }, picture) : null),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app),
      surface ? h("button", { type: "button", class: "go", "data-press": "drill-injected", onclick: () => putIn(app, shown, what, surface) }, WORDS.put) : null)),
  ];
}

function told(shown, { what, surface }) {
  const place = surface && capital(shown.words.surfaces[surface] ?? surface);
  return place && PLACED[what] ? WORDS[what](place) : say(WORDS.kinds[what] ?? what);
}

/** Over every screen while something is put in: what it is, and that it is of the drill. */
export function band(shown) {
  const now = shown.injected();
  return now.length === 0 ? null : h("div", { class: "of-the-drill", role: "status", "data-drill": now.map((one) => one.what).join(" ") },
    h("span", { class: "mark" }, WORDS.drill), h("b", {}, now.map((one) => told(shown, one)).join(" · ")), h("span", {}, WORDS.act));
}
