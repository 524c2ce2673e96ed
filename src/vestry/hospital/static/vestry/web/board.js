// The board asks, often and cheaply, what it is to show; says how old it is where nobody answers; keeps its own clock.

import { stayAwake } from "/static/vestry/tablet/awake.js";

const EVERY = 5_000;
const LATE = 12_000; // two answers that did not come
const [shown, late, clock] = ["now", "late", "clock"].map((id) => document.getElementById(id));
const offset = Number(document.body.dataset.offset) * 60_000;
let ahead = Date.parse(document.body.dataset.now) - Date.now(); // the server's clock counts, not the wall's
let heard = performance.now();
let heardAt = Date.parse(document.body.dataset.now);
let tag = "";
let out = false;

const twoDigits = (number) => String(number).padStart(2, "0");

/** The time of day where the board hangs. */
function timeOfDay(moment) {
  const there = new Date(moment + offset);
  return `${twoDigits(there.getUTCHours())}:${twoDigits(there.getUTCMinutes())}`;
}

function tick() {
  const now = Date.now() + ahead;
  clock.textContent = timeOfDay(now);
  for (const one of document.querySelectorAll("[data-until]")) {
    const minutes = Math.ceil((Date.parse(one.dataset.until) - now) / 60_000);
    const words = one.nextElementSibling;
    one.textContent = String(Math.abs(minutes));
    words.textContent = minutes < 0 ? words.dataset.over : words.dataset.left;
  }
  const age = performance.now() - heard;
  late.hidden = !out && age < LATE;
  if (!late.hidden) {
    const says = out ? late.dataset.out : late.dataset.lost;
    const told = says.replace("TIME", timeOfDay(heardAt)).replace("SINCE", String(Math.max(1, Math.round(age / 60_000))));
    if (late.textContent !== told) late.textContent = told;
  }
}

async function look() {
  try {
    const answer = await fetch(document.body.dataset.ask, {
      headers: tag ? { "If-None-Match": tag } : {}, cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(8_000),
    });
    out = answer.type === "opaqueredirect" || [401, 403, 404].includes(answer.status);
    if (answer.status === 200) {
      const read = new DOMParser().parseFromString(await answer.text(), "text/html");
      shown.replaceChildren(...read.body.childNodes);
      tag = answer.headers.get("ETag") ?? "";
    }
    if (answer.status === 200 || answer.status === 304) {
      heard = performance.now();
      heardAt = Date.parse(answer.headers.get("Vestry-Now") ?? "") || Date.now() + ahead;
      ahead = heardAt - Date.now();
    }
  } catch {
    // No network: the line above says how old this is.
  }
  tick();
  setTimeout(look, EVERY);
}

setInterval(tick, 1000);
tick();
setTimeout(look, 1000);
stayAwake();
