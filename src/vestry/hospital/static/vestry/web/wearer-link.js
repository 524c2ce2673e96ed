// The wearer's screen: asks three times a second what was read. Where no answer comes it shows no step at all: what it had
// may be old. A phone that slept checks that before anything else.

import { stayAwake } from "/static/vestry/tablet/awake.js";
import { drawing, h, icons } from "/static/vestry/tablet/drawing.js";

const EVERY = 300;
const PATIENCE = 1_500;
const LOST = 2_000;
const words = document.body.dataset;
const [view, ground, left] = ["view", "ground", "left"].map((id) => document.getElementById(id));
let token = "";
let said = { kind: "wait" };
let heard = performance.now();
let shown = "";

const sentences = (text) => text.split("|");
const act = (lines, size) => h("h1", { class: `act ${size}` }, lines.map((one) => h("span", {}, one)));

function marks() {
  const listed = (icon, bold, more) => h("li", {}, icon(), h("span", {}, h("b", {}, bold), more ? ` ${more}` : ""));
  return h("ul", { class: "marks" },
    said.grasp ? listed(icons.ring, words.grasp, said.grasp) : null,
    said.avoid ? listed(icons.cross, words.avoid, said.avoid) : null,
    said.contaminated ? listed(icons.hatch, words.contaminated) : null);
}

function body(kind) {
  if (kind === "step") {
    return [h("div", {}, act(said.lines, said.size), marks()), said.figure ? h("div", { class: "whole" }, drawing(said.figure)) : null];
  }
  if (kind === "wait") return [h("h1", { class: "hidden-but-said" }, words.wait)];
  const says = { held: words.held, over: words.over, lost: words.lost, "tablet-lost": words.tabletLost, ended: words.ended }[kind];
  return [act(sentences(says ?? words.lost), "middle")];
}

function time() {
  const minutes = said.until ? Math.ceil((Date.parse(said.until) - Date.now()) / 60_000) : null;
  const share = minutes === null ? 0 : Math.max(0, Math.min(1, minutes / said.limit));
  const width = (100 * share).toFixed(1);
  const bar = share ? `<rect class="bar" x="0" y="2" width="${width}%" height="18"/><line class="end" x1="${width}%" x2="${width}%" y1="-6" y2="26"/>` : "";
  ground.replaceChildren(drawing(`<svg xmlns="http://www.w3.org/2000/svg"><line class="line" x1="0" x2="100%" y1="11" y2="11"/>${bar}</svg>`));
  const says = minutes === null ? [] : [h("b", { class: "num" }, String(Math.abs(minutes))), h("span", {}, minutes < 0 ? words.past : words.left)];
  left.replaceChildren(...says, ...[said.drill && words.drill, words.draft].filter(Boolean).map((one) => h("b", { class: "mark" }, one)));
}

/** Draw, where what is to be shown is another. */
function look() {
  const kind = said.kind !== "ended" && performance.now() - heard > LOST ? "lost" : said.kind;
  const now = `${kind} ${token}`;
  if (now !== shown) {
    shown = now;
    document.body.dataset.kind = kind;
    document.body.classList.toggle("night", kind === "held");
    document.body.classList.toggle("lost", ["lost", "tablet-lost", "ended"].includes(kind));
    view.replaceChildren(...body(kind).filter(Boolean));
    time();
  }
}

async function ask() {
  const begun = performance.now();
  try {
    const answer = await fetch(`now/?have=${encodeURIComponent(token)}&in=${document.documentElement.lang}`, {
      cache: "no-store", credentials: "omit", signal: AbortSignal.timeout(PATIENCE),
    });
    if (answer.status === 200) {
      said = await answer.json();
      token = said.token;
    } else if (answer.status === 404) {
      said = { kind: "ended" };
      token = "";
    }
    if ([200, 204, 404].includes(answer.status)) heard = begun;
  } catch {
    // No network: look() says so once it has lasted.
  }
  look();
  setTimeout(ask, Math.max(0, EVERY - (performance.now() - begun)));
}

document.addEventListener("visibilitychange", look);
addEventListener("pageshow", look);
setInterval(look, 250);
setInterval(time, 5_000);
stayAwake();
ask();
