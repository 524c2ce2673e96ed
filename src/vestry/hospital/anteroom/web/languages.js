// Which language this tablet speaks: chosen before an entry, and never an unreviewed one in an entry that is no drill.

import { h } from "./drawing.js";
import { SOURCE, choose, chosen, language, languages, leadIn, reviewed, say } from "./say.js";

/** The language for an entry: the one chosen; English where that is a draft and the entry is real. */
export function languageFor(drill) {
  return drill || reviewed(chosen()) ? chosen() : SOURCE;
}

/** Whether what is in this bundle may be shown: the words of a real entry are reviewed, whoever sent them. */
export function mayBeShown(bundle) {
  return bundle.drill || reviewed(bundle.carried.words.language);
}

/** Speak as this entry may, or after it as was chosen. True: the page is loaded anew for it, show nothing more. */
export function speakFor(bundle) {
  const wanted = bundle ? languageFor(bundle.drill) : chosen();
  leadIn(bundle ? wanted : null);
  if (wanted === language || !languages.some((one) => one.tag === wanted)) return false;
  location.reload();
  return true;
}

/** Buttons, each language by its own name. Nothing where there is only one. */
export function languageChoice() {
  if (languages.length < 2) return null;
  const pick = (tag) => {
    choose(tag);
    leadIn(null);
    location.reload();
  };
  return h("div", { class: "keys", id: "languages" },
    languages.map((one) => h("button", { type: "button", lang: one.tag, "data-language": one.tag, "aria-pressed": String(one.tag === chosen()), onclick: () => pick(one.tag) }, one.name)),
    reviewed(chosen()) ? null : h("p", { class: "aside", id: "draft" }, say("Unreviewed translation. Drills are led in it; a real entry is led in English.")));
}
