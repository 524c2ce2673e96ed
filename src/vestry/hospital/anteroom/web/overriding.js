// What refuses cannot be put right and the patient cannot wait: a shift lead or programme lead goes on by name, with the
// reason and the alternative that was offered. Who decides signs here, by badge and PIN, with or without a network.

import { h, icons } from "./drawing.js";
import { backKey } from "./inside.js";
import * as pin from "./pin.js";

const WORDS = {
  title: "Override by name", says: "It goes on though this refuses.", register: "By the registers, who goes in may not.",
  instead: "The alternative", someone: "Someone else goes in.", how: "For this entry only. It stands in the record, with who signed.",
  reason: "Reason", alternative: "The alternative that was offered", badge: "Badge of the lead", pin: "PIN of the lead",
  sign: "I decide: it goes on",
  none: "No lead has a badge and PIN on this tablet. A lead decides on the plain pages, or someone else goes.",
  wrong: "This badge and PIN fit no shift lead and no programme lead.",
  notYou: "Only a shift lead or a programme lead may override. Nothing was recorded.",
  many: "Too many wrong tries. A lead decides on the plain pages, or wait a quarter of an hour.",
  words: "Reason and alternative are needed.",
};

/** Who signs, among those who may; or why not, in words. */
async function signer(app, badge, number) {
  if (await pin.tooMany(app.keeping)) return { trouble: WORDS.many };
  const lead = await pin.whoOf(app.bundle.before.deciders, badge, number);
  if (lead) return { lead };
  if (await pin.whoIs([app.bundle], badge, number)) return { trouble: WORDS.notYou };
  await pin.failed(app.keeping);
  return { trouble: WORDS.wrong };
}

export function overriding(app) {
  const { check, item, refuses, instead } = app.view;
  const field = (id, label, more = {}) => [h("label", { for: id }, label), h("input", { id, autocomplete: "off", required: true, ...more })];
  const reason = field("reason", WORDS.reason, { maxlength: "1000" });
  const alternative = field("alternative", WORDS.alternative, { maxlength: "1000" });
  const badge = field("badge", WORDS.badge, { maxlength: "40" });
  const number = field("pin", WORDS.pin, { type: "password", inputmode: "numeric", maxlength: "12" });
  const problem = h("p", { class: "problem", role: "alert", hidden: true });
  const trouble = (text) => {
    problem.replaceChildren(h("span", {}, text));
    problem.hidden = false;
    problem.scrollIntoView({ block: "nearest" });
  };
  let asking = false;
  const sign = async (event) => {
    event.preventDefault();
    const [why, other] = [reason, alternative].map(([, input]) => input.value.trim());
    if (!why || !other) return trouble(WORDS.words);
    if (asking) return null;
    asking = true;
    try {
      const { lead, trouble: not } = await signer(app, badge[1].value.trim(), number[1].value.trim());
      number[1].value = "";
      if (not) return trouble(not);
      return await app.press("overridden", { check, item, by: lead["sign-in"], reason: why, alternative: other, signed: "badge-pin" }, true);
    } finally {
      asking = false;
    }
  };
  const able = app.bundle.before.deciders.some((one) => one.badge && one.pin);
  return [
    h("div", { class: "stage bare" }, h("div", { class: "head" },
      h("div", { class: "who" }, h("span", { class: "on" }, WORDS.title)),
      h("h1", { class: "act longer" }, h("span", {}, refuses || WORDS.register)),
      h("p", { class: "say" }, WORDS.says),
      h("div", { class: "watch" }, icons.eye(), h("small", {}, WORDS.instead), instead || WORDS.someone),
      problem,
      able
        ? h("form", { class: "plain two", id: "override", onsubmit: sign }, h("div", {}, reason, alternative), h("div", {}, badge, number))
        : h("p", { class: "say" }, h("b", {}, WORDS.none)),
      h("p", { class: "aside" }, WORDS.how))),
    h("div", { class: "low" }, h("div", { class: "keys" }, backKey(app),
      able ? h("button", { class: "go", form: "override", "data-press": "overridden" }, WORDS.sign) : null)),
  ];
}
