// Another observer leads from here: step and items worn are spoken first, then badge and PIN of the one who takes over,
// checked on this tablet. Never refused: without badge and PIN it is recorded by name, and that is flagged.

import { h } from "./drawing.js";
import { backKey } from "./inside.js";
import * as pin from "./pin.js";
import { listOf, phrase, say } from "./say.js";

const WORDS = {
  title: "Hand over. Say this aloud.", at: (n, count) => phrase`Step ${n} of ${count}`, worn: "Worn now", nothing: "nothing yet",
  badge: "Badge of the one who takes over", pin: "PIN", take: "Heard. I lead from here", wrong: "This badge and PIN fit nobody who may lead this entry.",
  same: "This is the one who leads already.", without: "Without badge and PIN", who: "Who takes over", recorded: "It is recorded as such, and the lead sees it.",
  many: "Too many wrong tries. Hand over by name, or wait a quarter of an hour.", by: "Hand over by name",
};

async function given(app, to, said, identified) {
  await app.press("observer-handed-over", { ...said, to, identified }, true);
  if (app.state.observer !== to) return;
  app.person = to;
  await app.keeping.setMeta({ person: to, identified: null });
}

export function handOver(app, shown) {
  const [step] = shown.steps;
  const worn = shown.state.worn.map((one) => shown.words.items[one] ?? one);
  const said = { step: step?.id, worn: shown.state.worn };
  const badge = h("input", { id: "badge", maxlength: "40", autocomplete: "off", required: true });
  const number = h("input", { id: "pin", type: "password", inputmode: "numeric", maxlength: "12", autocomplete: "off", required: true });
  const problem = h("p", { class: "problem", role: "alert", hidden: true });
  const trouble = (text) => Object.assign(problem, { textContent: say(text), hidden: false });
  const take = async (event) => {
    event.preventDefault();
    if (await pin.tooMany(app.keeping)) return trouble(WORDS.many);
    const who = await pin.whoIs([app.bundle], badge.value.trim(), number.value.trim());
    if (!who) {
      await pin.failed(app.keeping);
      return trouble(WORDS.wrong);
    }
    if (who["sign-in"] === shown.state.observer) return trouble(WORDS.same);
    return given(app, who["sign-in"], said, true);
  };
  const others = shown.bundle.people.filter((one) => ["observer", "relief"].includes(one.part) && one["sign-in"] !== shown.state.observer);
  const to = h("select", { id: "to", "aria-label": WORDS.who }, others.map((one) => h("option", { value: one["sign-in"] }, one.name)));
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" },
      h("div", { class: "who" }, h("span", { class: "on" }, WORDS.title)),
      step ? h("h1", { class: "act long" }, h("span", {}, `${WORDS.at(shown.place + 1, shown.course.steps.length)}: ${shown.line(step).short}`)) : null,
      h("p", { class: "say" }, h("b", {}, `${say(WORDS.worn)}: `), worn.length ? `${listOf(worn)}.` : `${say(WORDS.nothing)}.`), problem,
      h("form", { class: "plain two", onsubmit: take, id: "hand-over" },
        h("div", {}, h("label", { for: "badge" }, WORDS.badge), badge), h("div", {}, h("label", { for: "pin" }, WORDS.pin), number)),
      others.length ? h("details", { class: "seldom" }, h("summary", {}, WORDS.without), h("form", { class: "plain", onsubmit: (event) => { event.preventDefault(); given(app, to.value, said, false); } },
        h("p", { class: "aside" }, WORDS.recorded), h("label", { for: "to" }, WORDS.who), to, h("button", { "data-by-name": true }, WORDS.by))) : null)),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app), h("button", { class: "go", form: "hand-over", "data-press": "observer-handed-over" }, WORDS.take))),
  ];
}
