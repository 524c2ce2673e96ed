// What is seldom needed while an entry is led: the last press was wrong, another observer, this device leads.

import { h } from "./drawing.js";

const BACK = new Set(["stop-said", "read", "acknowledged", "done-seen", "done-not-seen", "prompted"]);
const NAMES = {
  "stop-said": "stop said", read: "read", acknowledged: "acknowledged", "done-seen": "done and seen",
  "done-not-seen": "done, not seen", prompted: "prompted",
};

/** The last press of this device that spoke of a step and was not taken back. */
export function lastPress(app) {
  const gone = new Set(app.state["taken-back"]);
  return app.events
    .filter((one) => one.device === app.tablet && BACK.has(one.kind) && !gone.has(one.id))
    .sort((a, b) => b.counter - a.counter)[0] ?? null;
}

export function menu(app) {
  const last = lastPress(app);
  const others = app.bundle.people.filter((one) => ["observer", "relief"].includes(one.part) && one["sign-in"] !== app.state.observer);
  const to = h("select", { id: "to", "aria-label": "Who leads from here" }, others.map((one) => h("option", { value: one["sign-in"] }, one.name)));
  const said = h("input", { id: "said", maxlength: "400", autocomplete: "off", placeholder: "step, and what is worn" });
  const over = async (event) => {
    event.preventDefault();
    await app.press("observer-handed-over", { to: to.value, note: said.value.trim() });
    app.person = to.value;
    await app.keeping.setMeta({ person: to.value });
  };
  return h("details", { class: "seldom" }, h("summary", {}, "More"),
    h("div", { class: "cards" },
      last ? h("div", { class: "card" }, h("h2", {}, "The last press was wrong"),
        h("button", { type: "button", "data-press": "taken-back", onclick: () => app.press("taken-back", { event: last.id }) },
          `Take back: ${NAMES[last.kind]}`)) : null,
      others.length ? h("form", { class: "card", onsubmit: over }, h("h2", {}, "Another observer leads from here"),
        h("p", {}, "Say step and items worn aloud first."), to, h("label", { for: "said" }, "What was said"), said,
        h("button", { "data-press": "observer-handed-over" }, "Hand over")) : null,
      app.state.leads === app.tablet ? null : h("div", { class: "card" }, h("h2", {}, "Another device leads"),
        h("button", { type: "button", "data-press": "device-taken-over", onclick: () => app.press("device-taken-over", {}) }, "This one leads from here"))));
}
