// What this page says, in the language of the tablet. English stands in the modules and is the key; the other languages
// come in one file that the service worker keeps. Loaded before any module that says something.
//
//   say("Go on")                          the text in the language of this page
//   say("step {n} of {count}", { n, count })
//   sayMany("{n} step", "{n} steps", n, {...})    by number: one, or another number
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

/** Every language with its name, direction, status and texts. */
export const languages = globalThis.document ? await fetched() : [];

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
if (globalThis.document) {
  document.documentElement.lang = language;
  document.documentElement.dir = own?.direction ?? "ltr";
}

/** The page itself comes in English, the same for everyone: its foot speaks as the rest does. */
export function speakFoot() {
  const foot = globalThis.document?.querySelector(".foot");
  if (foot) foot.textContent = say("Supports trained people; replaces neither local procedure nor judgement. Local procedure governs.");
}

function filled(text, values) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
}

export function say(text, values = {}) {
  return filled(TEXTS[text] || text, values);
}

/** Texts with gaps, as patterns: "step {} of {}". Made once. */
const GAPS = Object.entries(TEXTS).filter(([text, said]) => text.includes("{}") && said).map(([text, said]) => [
  new RegExp(`^${text.split("{}").map((one) => one.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")).join("([\\s\\S]*?)")}$`), said,
]);

/** A text that a module made, gaps filled already, in the language of this page. What has no translation stays as it is. */
export function spoken(made) {
  if (language === SOURCE || typeof made !== "string" || !made.trim()) return made;
  if (TEXTS[made]) return TEXTS[made];
  const [lead] = /^(?:, |\s+)?/.exec(made); // "..., way out": what it hangs on stands before it
  if (lead && TEXTS[made.slice(lead.length)]) return lead + TEXTS[made.slice(lead.length)];
  for (const [pattern, said] of GAPS) {
    const found = pattern.exec(made);
    if (found) return found.slice(1).reduce((text, gap) => text.replace("{}", () => spoken(gap)), said);
  }
  return made;
}

export function sayMany(one, many, number, values = {}) {
  return say(Number(number) === 1 ? one : many, values);
}

/** A time of day as this language writes it; always by twenty-four hours. */
export function timeOfDay(clock) {
  return clock ? new Date(clock).toLocaleTimeString(language, { hour: "2-digit", minute: "2-digit", hour12: false }) : "";
}

/** Choose for this tablet, or for the entry that is led; `null` when it is over. The page speaks it once it is loaded anew. */
export function choose(tag) {
  keep(CHOSEN, tag);
}

export function leadIn(tag) {
  keep(LED, tag);
}
