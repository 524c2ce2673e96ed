// Before anyone goes in: the area, the person, communication and signals, by the unit's own lists. One thing at a time;
// what is not in order holds, and says what to do. Each answer is an event, so nothing is asked twice after a restart.
//
// Of the person only may or may not reaches this page: what they answer alone is asked as one, and never kept apart.

import { h, icons } from "./drawing.js";
import { phrase } from "./say.js";
import { sentences } from "./shown.js";

const W = {
  titles: { area: "Before anyone goes in: the area", person: "Before anyone goes in: the person", signals: "Before anyone goes in: signals" },
  looks: { area: "Look, and say it", person: "Ask, and look", signals: "Show each other" },
  inOrder: "In order", not: "Not in order", nowInOrder: "Now it is in order", of: (n, m) => phrase`${n} of ${m}`,
  holds: "Not in order. Nobody goes on.", todo: "What to do",
  may: (who) => phrase`By the registers, ${who} may go in.`,
  mayNot: (who) => phrase`By the registers, ${who} may not go in.`,
  notKnown: (who) => phrase`The registers do not say whether ${who} may go in. Ask the shift lead.`,
  overridden: (who) => phrase`By the registers, ${who} may not go in. A lead overrode this by name, for this entry.`,
  drill: (who) => phrase`By the registers, ${who} may not go in. This is a drill: go on.`,
  goOn: "Go on", leadSays: "The lead says: may", leadNot: "May not",
  reasonStays: "The reason goes to the person and to the lead, not to this screen. Someone else goes, or a lead overrides it by name.",
  alone: (who) => phrase`${who} answers these alone, then says only: may, or may not.`,
  aloneMay: (who) => phrase`${who} says: may`, aloneNot: (who) => phrase`${who} says: may not`,
  aloneHold: (who) => phrase`${who} does not go in now.`, aloneWhy: "Nobody asks why. Someone else goes, or the same question again later.",
  again: "Asked again: may", other: "Someone else goes: end this entry",
  sum: { area: "The doffing area is ready.", person: (who) => phrase`${who} may go in.`, signals: "Signals are agreed." },
  sumNot: { area: "The doffing area is not all in order.", person: (who) => phrase`${who} goes in by a named override.`, signals: "Signals are not all agreed." },
  confirm: { area: "Confirm the area", person: "Confirm the person", signals: "Confirm the signals" },
  put: "Put in order first", goesOn: "Not in order, overridden by name", outsider: "Outsider",
  overrideTitle: "It cannot be put right, and the patient cannot wait",
};
const CHECKS = { "area-confirmed": "area", "person-checked": "person", "signals-agreed": "signals" };
const KINDS = { area: "area-confirmed", person: "person-checked", signals: "signal-checked" };
const DONE = new Set(["in-order", "goes-on"]);

/** What is asked now: {check, items, at, says}, or null where the step is none of the three or this bundle has no lists. */
export function beforeOf(bundle, shown) {
  const check = shown.kind === "step" && shown.steps.length === 1 ? CHECKS[shown.steps[0].topic] : undefined;
  const list = check && bundle.before?.[check];
  if (!list?.items.length) return null;
  const said = new Map(shown.state.checks.filter((one) => one.check === check).map((one) => [one.item, one]));
  const items = itemsOf(check, list, said);
  const at = items.findIndex((one) => !DONE.has(one.says));
  return { check, list, items, at };
}

function itemsOf(check, list, said) {
  const open = list.items.filter((one) => !one.alone);
  const alone = list.items.filter((one) => one.alone);
  const items = check === "person"
    ? [{ id: "register", sort: "register" }, ...open, ...(alone.length ? [{ id: "own-answer", sort: "alone", alone }] : [])]
    : open;
  return items.map((one) => ({ ...one, says: said.get(one.id)?.says ?? "", onceNot: said.get(one.id)?.["once-not"] ?? false }));
}

/** The body of the screen for what is asked. STOP and the strip stay where they are on every other screen. */
export function beforeBody(app, shown, before) {
  const item = before.items[before.at];
  if (!item) return summary(app, shown, before);
  if (item.says === "not-in-order") return holding(app, shown, before, item);
  const screen = { register, alone }[item.sort] ?? asking;
  return screen(app, shown, before, item);
}

// ---- parts ----

function key(app, press, says, said, { go = false } = {}) {
  return h("button", { type: "button", class: go ? "go" : null, "data-press": press, "data-primary": go, onclick: () => app.press(press, said) },
    go ? icons.pedal() : null, says);
}

function answer(app, before, item, says, words, go = false) {
  return key(app, "item-checked", words, { check: before.check, item: item.id, says }, { go });
}

function large(text, name = `act ${text.length < 50 ? "short" : text.length < 90 ? "middle" : "long"}`) {
  return h("h1", { class: name }, sentences(text).map((one) => h("span", {}, one)));
}

function page(before, look, head, keys) {
  const number = before.at < 0 ? before.items.length : before.at + 1;
  return [
    h("div", { class: "stage" }, h("div", { class: "head" },
      h("div", { class: "who" }, h("span", { class: "on" }, W.titles[before.check]), h("span", { class: "step num" }, W.of(number, before.items.length))),
      look ? h("p", { class: look === W.holds ? "holds" : "aside" }, look) : null, ...head)),
    h("div", { class: "low" }, progress(before), h("div", { class: "keys" }, ...keys)),
  ];
}

function progress(before) {
  return h("ol", { class: "ladder", "aria-hidden": "true" }, before.items.map((one, n) =>
    h("li", { class: DONE.has(one.says) ? "walked" : n === before.at ? "here" : "ahead" })));
}

// ---- screens ----

function asking(app, shown, before, item) {
  return page(before, W.looks[before.check], [large(item.say)], [
    answer(app, before, item, "not-in-order", W.not),
    answer(app, before, item, "in-order", W.inOrder, true),
  ]);
}

function register(app, shown, before, item) {
  const { "register-says": says, outsider } = app.bundle.before;
  const who = shown.given("wearer");
  const known = outsider.length ? h("ul", { class: "known" }, h("li", {}, h("b", {}, W.outsider)), outsider.map((one) => h("li", {}, one))) : null;
  if (says === "may") return page(before, "", [large(W.may(who))], [answer(app, before, item, "in-order", W.goOn, true)]);
  if (says === "overridden") return page(before, "", [large(W.overridden(who)), known], [answer(app, before, item, "goes-on", W.goOn, true)]);
  if (says === "may-not" && app.bundle.drill) return page(before, "", [large(W.drill(who))], [answer(app, before, item, "goes-on", W.goOn, true)]);
  if (says === "may-not") return holding(app, shown, before, item);
  return page(before, "", [large(W.notKnown(who)), known], [
    answer(app, before, item, "not-in-order", W.leadNot),
    answer(app, before, item, "in-order", W.leadSays, true),
  ]);
}

function alone(app, shown, before, item) {
  const who = shown.given("wearer");
  return page(before, "", [
    large(W.alone(who), "act long"),
    h("ul", { class: "alone" }, item.alone.map((one) => h("li", {}, one.say))),
  ], [
    key(app, "may-not", W.aloneNot(who), { item: item.id }),
    answer(app, before, item, "in-order", W.aloneMay(who), true),
  ]);
}

function holding(app, shown, before, item) {
  const who = shown.given("wearer");
  const other = h("button", { type: "button", "data-press": "abandoned", onclick: () => app.press("abandoned", { reason: "someone-else-goes-in" }) }, W.other);
  if (item.sort === "alone") {
    return page(before, "", [large(W.aloneHold(who)), h("p", { class: "watch" }, icons.eye(), W.aloneWhy)], [other, answer(app, before, item, "in-order", W.again)]);
  }
  if (item.sort === "register") {
    return page(before, "", [large(W.mayNot(who)), h("p", { class: "watch" }, icons.eye(), W.reasonStays)], [override(app, before, item), other]);
  }
  return page(before, W.holds, [
    large(item.say, "act long"),
    item["else-do"] ? h("div", { class: "watch" }, icons.eye(), h("small", {}, W.todo), item["else-do"]) : null,
  ], [override(app, before, item), answer(app, before, item, "in-order", W.nowInOrder, true)]);
}

function override(app, before, item) {
  return h("button", { type: "button", class: "narrow", "data-view": "override",
    onclick: () => app.open({ name: "override", check: before.check, item: item.id, refuses: item.say ?? "", instead: item["else-do"] ?? "" }) }, W.overrideTitle);
}

function summary(app, shown, before) {
  const { check, items } = before;
  const who = shown.given("wearer");
  const over = items.filter((one) => one.says === "goes-on");
  const put = items.filter((one) => one.onceNot && one.says === "in-order" && one.sort !== "alone");
  const words = over.length ? W.sumNot[check] : W.sum[check];
  const named = (one) => one.say ?? W.overridden(who);
  const list = (title, some) => (some.length ? [h("h2", {}, title), h("ul", { class: "known" }, some.map((one) => h("li", {}, named(one))))] : []);
  const ids = (some) => some.map((one) => one.id);
  const payload = {
    ...(check === "person" ? { may: !over.some((one) => one.sort === "register") } : {}),
    list: String(before.list.version), ...listed("items", ids(items.filter((one) => one.says === "in-order"))), ...listed("not-in-order", ids(over)),
  };
  const [step] = shown.steps;
  return page(before, "", [large(typeof words === "function" ? words(who) : words), ...list(W.put, put), ...list(W.goesOn, over)],
    [key(app, "check-confirmed", W.confirm[check], { step: step.id, kind: KINDS[check], payload }, { go: true })]);
}

function listed(name, values) {
  return values.length ? { [name]: values } : {};
}
