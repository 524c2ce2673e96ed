// A clock on the screen: a node that is told anew each second. Nothing is read aloud by it, nothing moves beside it.

import { h } from "./drawing.js";

/** tell(): the text, or null for nothing. */
export function ticking(name, tell, { large = false } = {}) {
  const node = h("span", { class: large ? "clock large num" : "clock num", "data-clock": name, role: "timer" });
  node.tell = () => {
    const text = tell() ?? "";
    if (node.textContent !== text) node.textContent = text;
  };
  node.tell();
  return node;
}

export function tickAll() {
  for (const node of document.querySelectorAll("[data-clock]")) node.tell?.();
}
