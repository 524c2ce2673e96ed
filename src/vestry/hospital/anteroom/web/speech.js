// The device's voice, for training: off until it is turned on for this tablet, silent in a real entry, and never in the way.
// The person reads aloud; this reads the step once when it comes up, and stops at the next press.

import { h } from "./drawing.js";
import { chosen, say } from "./say.js";

const KEPT = "vestry-voice";

export function isOn() {
  try {
    return localStorage.getItem(KEPT) === "on";
  } catch {
    return false;
  }
}

function turn(on) {
  try {
    localStorage.setItem(KEPT, on ? "on" : "off");
  } catch {
    // No storage: it stays off.
  }
  if (!on) silent();
}

export function silent() {
  globalThis.speechSynthesis?.cancel();
}

/** A voice of this language on this device; null where there is none. */
export function voiceOf(language) {
  const known = globalThis.speechSynthesis?.getVoices() ?? [];
  return known.find((one) => one.lang.toLowerCase().replace("_", "-").startsWith(language.toLowerCase())) ?? null;
}

let last = "";

/** Read the step that is on the screen, once; only in a drill, and only where it was turned on. */
export function readStep(shown) {
  const step = shown.kind === "step" ? shown.steps[0] : null;
  const name = step ? `${shown.bundle.entry} ${shown.course.name} ${step.id}` : "";
  if (name !== last) silent();
  if (!step || name === last || !isOn() || !shown.bundle.drill) {
    last = name;
    return;
  }
  last = name;
  const { language } = shown.carried.words;
  const voice = voiceOf(language);
  if (!voice) return; // Said where it is turned on.
  const spoken = new SpeechSynthesisUtterance(shown.steps.map((one) => shown.line(one).say).join(" "));
  spoken.voice = voice;
  spoken.lang = language;
  spoken.rate = 0.9;
  speechSynthesis.speak(spoken);
}

/** On the tablet, before an entry: turn it on or off, and whether this device has a voice at all. */
export function voiceChoice(redraw) {
  const on = isOn();
  const flip = () => {
    turn(!on);
    redraw();
  };
  const absent = !globalThis.speechSynthesis
    ? say("This browser has no voice.")
    : voiceOf(chosen()) ? "" : say("This device has no voice for this language: nothing will be read.");
  return h("div", { class: "keys", id: "voice" },
    h("button", { type: "button", "data-voice": on ? "on" : "off", "aria-pressed": String(on), onclick: flip },
      on ? say("The device reads steps in drills: turn off") : say("Let the device read steps in drills")),
    on && absent ? h("p", { class: "aside" }, absent) : null);
}
