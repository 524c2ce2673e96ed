// What is seldom needed while an entry is led: the last press was wrong, another observer, this device leads.

import { h } from "./drawing.js";
import { drillCard } from "./drilling.js";
import { phrase, say } from "./say.js";
import { themeKey } from "./theme.js";
import { wearerCard } from "./wearerlink.js";

const BACK = new Set(["item-checked", "stop-said", "read", "acknowledged", "done-seen", "done-not-seen", "prompted", "drill-injected"]);
const NAMES = {
  "item-checked": "looked at",
  "stop-said": "stop said", read: "read", acknowledged: "acknowledged", "done-seen": "done and seen",
  "done-not-seen": "done, not seen", prompted: "prompted",
  "drill-injected": "put in for the drill",
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
  return h("div", { class: "beside" }, h("details", { class: "seldom" }, h("summary", {}, "More"),
    h("div", { class: "cards" },
      last ? h("div", { class: "card" }, h("h2", {}, "The last press was wrong"),
        h("button", { type: "button", "data-press": "taken-back", onclick: () => app.press("taken-back", { event: last.id }) },
          phrase`Take back: ${say(NAMES[last.kind])}`)) : null,
      h("div", { class: "card" }, h("h2", {}, "Another observer leads from here"),
        h("button", { type: "button", "data-view": "hand-over", onclick: () => app.open({ name: "hand-over" }) }, "Hand over")),
      wearerCard(app),
      drillCard(app),
      app.state.leads === app.tablet ? null : h("div", { class: "card" }, h("h2", {}, "Another device leads"),
        h("button", { type: "button", "data-press": "device-taken-over", onclick: () => app.press("device-taken-over", {}) }, "This one leads from here")),
      h("div", { class: "card" }, h("h2", {}, "The room"), themeKey()))));
}
