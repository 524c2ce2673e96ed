// Light or dark room: what was chosen here stays on this device; without a choice, what the device asks for.

import { h } from "./drawing.js";
import { say } from "./say.js";

const KEPT = "vestry-room";
const WORDS = { dark: "Dark room", light: "Light room" };

function kept() {
  try {
    return localStorage.getItem(KEPT);
  } catch {
    return null; // refused: then only until the page is closed
  }
}

/** What is shown now: dark or light. */
export function room() {
  const chosen = document.documentElement.dataset.room;
  if (chosen in WORDS) return chosen;
  return matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
}

function choose(which) {
  document.documentElement.dataset.room = which;
  try {
    localStorage.setItem(KEPT, which);
  } catch {
    // Not kept; it holds while the page is open.
  }
}

/** The large toggle: it says what it changes to. */
export function themeKey() {
  const other = () => (room() === "dark" ? "light" : "dark");
  const key = h("button", { type: "button", "data-room-key": true, onclick: () => {
    choose(other());
    key.textContent = say(WORDS[other()]);
  } }, WORDS[other()]);
  return key;
}

if (kept() in WORDS) document.documentElement.dataset.room = kept();
