// Torn or soiled: shown on the figure. A touch takes the nearest faces; each is also in a list by its trade name.

import { figure, h } from "./drawing.js";
import { button } from "./parts.js";
import { capital } from "./shown.js";
import { backKey } from "./inside.js";

const WORDS = {
  title: "Where? Touch the figure.", list: "Or choose it by name", nearest: "Which of these?", tore: "It tore", soiled: "It is soiled",
  choose: "Choose", turn: "The other side", notHere: "What is on the other side of the figure is in the list.",
};
const NEAR = 130; // pixels from the finger; fingers in two pairs of gloves are wide
const MOST = 4;

/** Faces of what is worn, and skin, that have a trade name: [surface, name], by name. */
export function places(shown) {
  const worn = new Set(shown.state.worn);
  const named = shown.words.surfaces;
  return shown.carried.program.surfaces
    .filter((one) => named[one] && (worn.has(one.split(".", 1)[0]) || one.startsWith("body.")))
    .map((one) => [one, capital(named[one])])
    .sort(([, a], [, b]) => a.localeCompare(b));
}

/** The scene of this place, and one of the same items seen from the other side, where the bundle has one. */
function sides(shown) {
  const { carried, course } = shown;
  const own = course.scenes[shown.place];
  const side = (scene) => (scene.view === null ? null : carried.views[scene.view].side);
  const all = [course, shown.led.plan].flatMap((one) => one.scenes);
  return [own, all.find((one) => one.worn === own.worn && side(one) && side(own) && side(one) !== side(own)) ?? null];
}

/** The figure with every face that can be told, those that are not contaminated without their marks. */
export function touched(app, shown, known, scene) {
  const now = shown.contaminated();
  const node = figure(shown.carried, scene, new Set(known.keys()), { plain: true, title: WORDS.title });
  if (!node) return null;
  const marks = [...node.querySelectorAll("[data-mark][data-surface]")].filter((one) => known.has(one.getAttribute("data-surface")));
  for (const mark of marks) {
    const surface = mark.getAttribute("data-surface");
    if (surface === app.view.surface) mark.classList.add(mark.getAttribute("data-mark") === "hatch" ? "marked" : "chosen");
    else if (!now.has(surface)) mark.classList.add("unmarked");
  }
  node.addEventListener("click", (event) => {
    const away = new Map();
    for (const mark of marks) {
      const box = mark.getBoundingClientRect();
      const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
      const surface = mark.getAttribute("data-surface");
      const inBox = event.clientX >= box.left && event.clientX <= box.right && event.clientY >= box.top && event.clientY <= box.bottom;
      const far = Math.hypot(event.clientX - x, event.clientY - y) * (inBox ? 0.5 : 1);
      away.set(surface, Math.min(far, away.get(surface) ?? Infinity));
    }
    const near = [...away].filter(([, far]) => far < NEAR).sort((a, b) => a[1] - b[1]).slice(0, MOST).map(([surface]) => surface);
    if (near.length) app.open({ ...app.view, near, surface: near.length === 1 ? near[0] : null });
  });
  return node;
}

export function marking(app, shown) {
  const known = new Map(places(shown));
  const { near = [], surface = null } = app.view;
  const step = shown.state.held.step;
  const choose = (one) => h("button", { type: "button", "data-surface-key": one, "aria-pressed": String(one === surface),
    onclick: () => app.open({ ...app.view, near, surface: one }) }, known.get(one));
  const select = h("select", { id: "place", "aria-label": WORDS.list }, [...known].map(([value, says]) => h("option", { value }, says)));
  const list = h("form", { class: "choose", onsubmit: (event) => { event.preventDefault(); app.open({ ...app.view, near: [select.value], surface: select.value }); } },
    h("label", { for: "place" }, WORDS.list), select, h("button", { type: "submit", "data-choose": true }, WORDS.choose));
  const item = surface?.split(".", 1)[0];
  const told = surface ? h("div", { class: "ways" },
    button(app, "soiling", WORDS.soiled, { go: true, said: { step, what: surface } }),
    shown.state.worn.includes(item) ? button(app, "tear", WORDS.tore, { said: { step, what: item, surface } }) : null) : null;
  const [own, behind] = sides(shown);
  const picture = touched(app, shown, known, app.view.behind ? behind : own);
  const turn = behind ? h("button", { type: "button", "data-turn": true, onclick: () => app.open({ name: "marking", behind: !app.view.behind }) }, WORDS.turn) : null;
  return [
    h("div", { class: "stage marking" },
      h("div", { class: "head" }, h("h1", { class: "act long" }, surface ? known.get(surface) : near.length ? WORDS.nearest : WORDS.title),
        near.length > 1 ? h("div", { class: "choices", role: "group", "aria-label": WORDS.nearest }, near.map(choose)) : null,
        told ? h("section", { class: "tell inner" }, told) : null, list, behind ? null : h("p", { class: "aside" }, WORDS.notHere)),
      picture ? h("div", { class: "whole touch" }, picture) : null),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app), turn)),
  ];
}
