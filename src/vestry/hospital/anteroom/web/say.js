// What this page says, in the language of the tablet. English stands in the modules and is the key; the other languages
// come in one file that the service worker keeps. Loaded before any module that says something.
//
//   say("Go on")                            the text in the language of this page
//   phrase`step ${place} of ${count}`       with values: looked up as "step {} of {}"
//   sayMany(count, "{} step", "{} steps")   by number: one, or another number
//   numberOf, timeOfDay, listOf, either     numbers, times and lists as this language writes them
//
// h(), through which every element is made, says what it is given. A value (a name, what somebody typed, the unit's own
// text) is never looked up by a part of it. tools/tablet_texts.py finds what is said here, and what is not.
//
// A real entry is never led in a language that no speaker of the trade has reviewed: languages.js.

const CHOSEN = "vestry-language";
const LED = "vestry-entry-language";
export const SOURCE = "en";

function kept(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function keep(key, value) {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, value);
  } catch {
    // No storage: the page goes on in English.
  }
}

async function fetched() {
  try {
    const answer = await fetch("/tablet/texts.json", { credentials: "omit", signal: AbortSignal.timeout(3000) });
    return answer.ok ? (await answer.json()).languages : [];
  } catch {
    return []; // English needs no file.
  }
}

// Only the tablet's own page is spoken by this: another page that draws with these modules comes spoken by the server.
const spoken = globalThis.document?.body?.dataset.shell !== undefined;

/** Every language with its name, direction, status and texts. */
export const languages = spoken ? await fetched() : [];

/** Whether a speaker of the trade stands behind it. What is not known is not reviewed. */
export function reviewed(tag) {
  const known = languages.find((one) => one.tag === tag);
  return tag === SOURCE || (known !== undefined && known.status !== "draft");
}

/** The language that was chosen on this tablet, and the one that this page speaks: an entry may narrow it. */
export const chosen = () => kept(CHOSEN) ?? SOURCE;
export const language = languages.some((one) => one.tag === (kept(LED) ?? chosen())) ? (kept(LED) ?? chosen()) : SOURCE;

const own = languages.find((one) => one.tag === language);
const TEXTS = own?.texts ?? {};
if (spoken) {
  document.documentElement.lang = language;
  document.documentElement.dir = own?.direction ?? "ltr";
}

/** The page itself comes in English, the same for everyone: its title and its foot speak as the rest does. */
export function speakFoot() {
  if (spoken) document.title = document.title.replace("Tablet", say("Tablet"));
  const foot = globalThis.document?.querySelector(".foot");
  if (foot) foot.textContent = say("Supports trained people; replaces neither local procedure nor judgement. Local procedure governs.");
}

/** A text in the language of this page; what has no translation stays English. */
export function say(text) {
  const known = Object.hasOwn(TEXTS, text) ? TEXTS[text] : "";
  return (typeof known === "string" && known) || text;
}

const COUNTING = new Intl.NumberFormat(language, { maximumFractionDigits: 1 });

/** A number as this language writes it. Only for the screen: what goes into the record is written as everywhere. */
export function numberOf(value) {
  return COUNTING.format(value);
}

function filled(text, gaps) {
  let next = 0;
  return text.replace(/\{(\d?)\}/g, (_, place) => {
    const gap = gaps[place ? Number(place) - 1 : next++];
    return typeof gap === "number" ? numberOf(gap) : String(gap);
  });
}

/** A text with values in it, looked up as "step {} of {}". Where a language needs another order: "{2} ... {1}". */
export function phrase(pieces, ...gaps) {
  return filled(say(pieces.join("{}")), gaps);
}

const PLURAL = new Intl.PluralRules(language);

/**
 * By number. A language with more forms than these two has them at the second, by the names that Unicode gives them:
 * "{} steps": {"one": ..., "few": ..., "many": ..., "other": ...}.
 */
export function sayMany(number, one, more) {
  const form = PLURAL.select(number);
  const forms = Object.hasOwn(TEXTS, more) ? TEXTS[more] : null;
  const text = forms && typeof forms === "object" ? (forms[form] ?? forms.other) : say(form === "one" ? one : more);
  return filled(text, [number]);
}

const LISTED = new Intl.ListFormat(language, { type: "unit", style: "short" });
const EITHER = new Intl.ListFormat(language, { type: "disjunction" });

/** Names one after the other, and as a choice between them. */
export function listOf(names) {
  return LISTED.format(names);
}

export function either(names) {
  return EITHER.format(names);
}

const CLOCK = new Intl.DateTimeFormat(language, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

/** A time of day as this language writes it; always by twenty-four hours. */
export function timeOfDay(clock) {
  return clock ? CLOCK.format(new Date(clock)) : "";
}

/** Choose for this tablet, or for the entry that is led; `null` when it is over. The page speaks it once it is loaded anew. */
export function choose(tag) {
  keep(CHOSEN, tag);
}

export function leadIn(tag) {
  keep(LED, tag);
}
