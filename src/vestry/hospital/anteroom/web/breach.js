// A breach or exposure: two presses from wherever the entry stands to the unit's own first aid, also without a network.
// It lies over the page beside STOP, so that whatever is drawn beneath does not take it away.

import { h } from "./drawing.js";
import { phrase, say } from "./say.js";

const WORDS = {
  open: "Breach or exposure",
  what: "Breach or exposure: what was it?",
  now: "Now",
  call: "Call",
  noText: "The unit has written no text for this. Call at once.",
  noCall: "The unit has written down nobody to call: the shift lead, then occupational health.",
  own: (one) => phrase`The unit's own text, of ${one.since}, ${one.by}`,
  invented: "invented for demonstration: not to be followed",
  record: "Then, for the record",
  where: "Where",
  whereFirst: "Say where first. Nothing is recorded yet.",
  who: "Who",
  reached: "Skin or mucosa was reached: open the exposure",
  failed: "A barrier failed, nothing was reached",
  back: "Back to the entry, nothing to record",
  kinds: {
    sharps: "Needle or sharps", splash: "Splash to eye, nose or mouth", "broken-skin": "Broken skin reached",
    "intact-skin": "Intact skin reached", "lost-air": "Respirator or air lost",
  },
  sites: {
    hands: "hands", wrists: "wrists", forearms: "forearms", face: "face", neck: "neck", eyes: "eyes",
    "nose-mouth": "nose or mouth", airways: "airways", elsewhere: "elsewhere",
  },
  parts: { wearer: "wearer", assistant: "doffing assistant", observer: "trained observer" },
};
const SKIN = ["hands", "wrists", "forearms", "face", "neck", "elsewhere"];
export const SITES = {
  sharps: ["hands", "forearms", "elsewhere"], splash: ["eyes", "nose-mouth"], "broken-skin": SKIN, "intact-skin": SKIN,
  "lost-air": ["airways"],
};

/** The way to first aid, on the edge under STOP: there it is in sight on every screen, however long a step's words are. */
export function breachKey(app) {
  return h("button", { type: "button", class: "breach-edge", "data-breach": true, onclick: () => open(app) }, WORDS.open);
}

let sheet = null;

function open(app) {
  if (sheet) return;
  put(app, h("h1", {}, WORDS.what),
    h("nav", { class: "breach-kinds", "aria-label": WORDS.what }, Object.entries(WORDS.kinds).map(([kind, name]) =>
      h("button", { type: "button", "data-kind": kind, onclick: () => aid(app, kind) }, name))));
}

/** The unit's words at once; what the record needs stands below them. */
function aid(app, kind) {
  const texts = new Map((app.bundle["first-aid"] ?? []).map((one) => [one.kind, one]));
  const [text, call] = [texts.get(kind), texts.get("call")];
  const said = { sort: kind, site: SITES[kind].length === 1 ? SITES[kind][0] : null, who: "wearer" };
  const first = h("p", { class: "problem", role: "alert", hidden: true }, WORDS.whereFirst);
  const people = Object.entries(WORDS.parts).filter(([part]) => app.state[part]);
  const names = new Map(app.bundle.people.map((one) => [one["sign-in"], one.given]));
  const record = async (reached) => {
    first.hidden = said.site !== null;
    if (!first.hidden) return;
    const before = app.events.length;
    await app.press("breach", { ...said, reached }, true);
    if (app.events.length > before) close();
  };
  put(app, h("h1", {}, WORDS.kinds[kind]),
    h("section", { class: "breach-aid" }, h("h2", {}, WORDS.now), h("p", { class: "breach-words" }, text?.text ?? WORDS.noText),
      text ? h("p", { class: "breach-source" }, [WORDS.own(text), app.bundle.invented ? say(WORDS.invented) : null].filter(Boolean).join(" · ")) : null),
    h("section", { class: "breach-aid" }, h("h2", {}, WORDS.call), h("p", { class: "breach-words" }, call?.text ?? WORDS.noCall)),
    h("section", {}, h("h2", {}, WORDS.record),
      h("div", { class: "breach-record" },
        choices(WORDS.where, SITES[kind].map((one) => [one, WORDS.sites[one]]), said, "site", () => { first.hidden = true; }),
        choices(WORDS.who, people.map(([part, name]) => [part, `${names.get(app.state[part]) ?? ""}, ${say(name)}`]), said, "who")),
      first, h("div", { class: "breach-keys" },
        h("button", { type: "button", class: "go", "data-press": "exposure", onclick: () => record(true) }, WORDS.reached),
        h("button", { type: "button", "data-press": "breach", onclick: () => record(false) }, WORDS.failed))));
}

function choices(title, options, said, name, chosen = () => {}) {
  const buttons = options.map(([value, words]) => h("button", { type: "button", "aria-pressed": String(said[name] === value), "data-value": value, onclick: (event) => {
    said[name] = value;
    chosen();
    for (const one of buttons) one.setAttribute("aria-pressed", String(one === event.currentTarget));
  } }, words));
  return h("div", {}, h("h2", {}, title), h("div", { class: "breach-choices", role: "group", "aria-label": title }, buttons));
}

function put(app, ...parts) {
  if (!sheet) {
    sheet = h("div", { class: "breach-sheet", id: "breach", role: "dialog", "aria-label": WORDS.open });
    document.body.append(sheet);
    document.addEventListener("keydown", held, true);
  }
  sheet.replaceChildren(h("div", { class: "breach" }, ...parts,
    h("p", { class: "breach-back" }, h("button", { type: "button", "data-back": true, onclick: close }, WORDS.back))));
  document.querySelector(".tablet").inert = true;
  sheet.scrollTop = 0;
  sheet.querySelector("button").focus();
}

function close() {
  document.querySelector(".tablet").inert = false;
  document.removeEventListener("keydown", held, true);
  sheet?.remove();
  sheet = null;
  document.querySelector("[data-breach]")?.focus({ preventScroll: true });
}

/** The pedal's keys do not reach the step beneath; Enter and space on what lies here do what they do. */
function held(event) {
  const here = sheet?.contains(event.target);
  if (event.key === "PageDown" || (!here && (event.key === "Enter" || event.key === " "))) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }
}
