// Nodes for the screen, and the figure put together from its strokes. No text is ever read as markup but our own drawings.

import { listOf, phrase, say } from "./say.js";

const SAID = new Set(["aria-label", "placeholder", "title"]);

/** An element with attributes and children; null children are left out. */
export function h(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else node.setAttribute(key, value === true ? "" : SAID.has(key) ? say(value) : value);
  }
  const shown = children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false);
  node.append(...shown.map((child) => (typeof child === "string" ? say(child) : child)));
  return node;
}

/** A drawing from its text. */
export function drawing(text) {
  return document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
}

const SVG = 'xmlns="http://www.w3.org/2000/svg"';
export const icons = {
  hand: () => drawing(`<svg ${SVG} viewBox="-56 -66 112 126" aria-hidden="true"><path class="palm" d="M-24,52 C-27,40 -34,26 -38,12 L-42,-16 C-43,-25 -32,-27 -30.4,-18 L-26.6,2 L-26,-40 C-25.8,-49.6 -13.4,-49.6 -13.2,-40 L-12,-4 L-8,-50 C-7.2,-59.6 5.2,-59 5,-49.4 L4.4,-4 L12,-43 C14,-52.4 26,-50 24.6,-40.6 L19,4 L22,14 C24,8 30,0 37,-6 C44,-11.6 52,-4 46,3.4 C40,11 36,22 30,32 C27,38 25.4,44 25,52 Z"/></svg>`),
  pedal: () => drawing(`<svg ${SVG} viewBox="0 0 76 56" aria-hidden="true"><path d="M4,48 H72" stroke="currentColor" stroke-width="4" stroke-linecap="round"/><path d="M10,46 L14,30 L64,16 L68,24 L66,46" fill="none" stroke="currentColor" stroke-width="4" stroke-linejoin="round"/><path d="M38,2 V12 M31,7 L38,14 L45,7" fill="none" stroke="currentColor" stroke-width="4" stroke-linecap="round" stroke-linejoin="round"/></svg>`),
  eye: () => drawing(`<svg ${SVG} viewBox="0 0 50 36" aria-hidden="true"><path d="M3,18 C12,4 38,4 47,18 C38,32 12,32 3,18 Z" fill="none" stroke="currentColor" stroke-width="3.6" stroke-linejoin="round"/><circle cx="25" cy="18" r="7.2" fill="currentColor"/></svg>`),
  ring: () => drawing(`<svg ${SVG} viewBox="0 0 32 32" aria-hidden="true"><circle cx="16" cy="16" r="11" fill="none" class="ink-act" stroke-width="5"/></svg>`),
  cross: () => drawing(`<svg ${SVG} viewBox="0 0 32 32" aria-hidden="true"><path d="M6,6 L26,26 M26,6 L6,26" fill="none" stroke="currentColor" stroke-width="6" stroke-linecap="round"/></svg>`),
  hatch: () => drawing(`<svg ${SVG} viewBox="0 0 32 32" aria-hidden="true"><path class="ink-contam" d="M2,24 L24,2 M8,30 L30,8 M2,13 L13,2 M19,30 L30,19" stroke-width="2.4"/><path class="fill-contam" d="M16,7 L25,16 L16,25 L7,16 Z" stroke-width="2"/></svg>`),
  bin: () => drawing(`<svg ${SVG} viewBox="0 0 32 32" aria-hidden="true"><path d="M4,8 H28 M12,8 V4 H20 V8 M7,8 L9,28 H23 L25,8" fill="none" stroke="currentColor" stroke-width="3" stroke-linejoin="round"/></svg>`),
};

/** The floor line: steps walked, where we are, those ahead; a post at a spoken stop. */
export function floor(steps, position, isDone) {
  const count = steps.length;
  const marks = steps.map((step, number) => {
    const at = (2 + (96 * number) / Math.max(count - 1, 1)).toFixed(2);
    const sort = number === position ? "here" : isDone(step) ? "walked" : "ahead";
    const post = step["stop-point"] ? `<path class="${sort} post" d="M-7,16 H7"/>` : "";
    const mark = sort === "here" ? '<path class="here" d="M0,3 L13,23 H-13 Z"/>' : `<path class="${sort}" d="M0,2 V13"/>${post}`;
    return `<svg x="${at}%" overflow="visible">${mark}</svg>`;
  });
  const node = drawing(`<svg ${SVG} class="floor" width="100%" height="24" role="img"><line class="line" x1="0" x2="100%" y1="2" y2="2"/>${marks.join("")}</svg>`);
  node.setAttribute("aria-label", phrase`Step ${position + 1} of ${count}`);
  return node;
}

/**
 * The wearer at a scene, with exactly these surfaces shown as perhaps contaminated. The picture holds every hatch that
 * its faces could have; those that are not may-be-contaminated now are taken out. `drilled`: put in for the drill there,
 * which is no contamination. Null where there is no picture.
 */
export function figure(carried, scene, contaminated, { plain = false, title = "The wearer at this step", drilled = new Set() } = {}) {
  if (scene?.view === null || scene?.view === undefined) return null;
  const node = drawing(carried.views[scene.view].parts.map((part) => carried.pieces[part]).join(""));
  for (const mark of node.querySelectorAll("[data-mark][data-surface]")) {
    const sort = mark.getAttribute("data-mark");
    const marked = sort === "hatch" || sort.startsWith("lozenge");
    const [surface, ofDrill] = [mark.getAttribute("data-surface"), marked && drilled.has(mark.getAttribute("data-surface"))];
    if (ofDrill) mark.classList.add(contaminated.has(surface) ? "of-drill-too" : "of-drill");
    else if (marked ? !contaminated.has(surface) : plain) mark.remove();
  }
  const said = [...contaminated].filter((one) => carried.words.surfaces[one]).map((one) => carried.words.surfaces[one]);
  node.removeAttribute("aria-hidden");
  node.setAttribute("role", "img");
  node.setAttribute("aria-label", said.length ? phrase`${say(title)}. May be contaminated: ${listOf(said)}.` : `${say(title)}.`);
  return node;
}
