// What stands around every screen of the tablet: the edge, the strip with what is not sent yet, what is in the way, a form.

import { low } from "./battery.js";
import { h } from "./drawing.js";
import { language, phrase, reviewed, say, sayMany } from "./say.js";
import { themeKey } from "./theme.js";

const HOW = {
  "not-enrolled": "This tablet is not enrolled any more. It sends nothing; what it has stays on it. Tell the lead.",
  "not-carried": "The server does not know that this tablet carries the entry. Tell the lead.",
  lost: "This tablet's storage was closed or cleared. Go on with the printed sheet or another tablet.",
};

/** What comes and goes many times in an entry: it has a place of its own beside the count, so that no key moves for it. */
const PASSES = {
  "no-network": "No network. Kept here, sent later.",
  server: "Server trouble. Kept here, sent later.",
};

export const SETTLE = 350; // milliseconds after a new screen, in which a bouncing pedal or finger still belongs to the last press

export class Frame {
  constructor() {
    Object.assign(this, { keeping: null, sending: null, busy: false, shownAt: 0, bouncedAt: -Infinity, how: "", trouble: "", counts: { unsent: 0, refused: 0 } });
  }

  put({ edge = null, strip = [], body, night = false }) {
    document.body.classList.toggle("night", night);
    if (performance.now() - this.bouncedAt > SETTLE) document.getElementById("bounce").replaceChildren();
    const side = document.getElementById("edge");
    side.replaceChildren(...[edge].flat().filter(Boolean));
    side.setAttribute("aria-label", say("STOP"));
    side.hidden = !edge;
    document.getElementById("screen").replaceChildren(...body.filter(Boolean));
    this.stripParts = strip;
    this.shownAt = performance.now();
    this.strip();
    scrollTo(0, 0);
    this.attend();
  }

  /** The focus is never lost with the screen that had it. A screen reader reads where it goes, and there hears the step. */
  attend() {
    const screen = document.getElementById("screen");
    const heading = screen.querySelector("h1");
    const primary = screen.querySelector("[data-primary]");
    heading?.setAttribute("tabindex", "-1");
    const step = [".who", "h1", ".watch"].map((one) => screen.querySelector(one)).filter(Boolean);
    step.forEach((one, n) => { one.id ||= `says-${n}`; });
    primary?.setAttribute("aria-describedby", step.map((one) => one.id).join(" "));
    (primary ?? heading)?.focus({ preventScroll: true });
  }

  strip() {
    const { unsent, refused } = this.counts;
    const count = h("span", { class: unsent ? "unsent mark" : "unsent", id: "unsent", "data-unsent": unsent },
      unsent ? sayMany(unsent, "{} not sent yet", "{} not sent yet") : "all sent");
    const bad = refused ? h("span", { class: "mark" }, sayMany(refused, "{} could not be stored: tell the lead", "{} could not be stored: tell the lead")) : null;
    const draft = reviewed(language) ? null : h("span", { class: "mark", "data-draft": true }, "Unreviewed translation");
    const told = this.battery?.();
    const weak = low(told) ? h("span", { class: "mark", "data-battery": told.percent }, phrase`Battery ${told.percent} %`) : null;
    document.getElementById("strip").replaceChildren(...[...(this.stripParts ?? []), weak, bad].filter(Boolean));
    // Beside the count, whose line is there anyhow: in the strip it took a second one, and the step below was cut off.
    document.getElementById("count").replaceChildren(...[draft, count].filter(Boolean));
    const network = say(PASSES[this.how] ?? "");
    if (document.getElementById("network").textContent !== network) document.getElementById("network").textContent = network;
    const says = [this.trouble, HOW[this.how], this.jumped].filter(Boolean);
    if (says.join("|") === this.troubleSaid) return; // what is in the way is read aloud once, not with every sending
    this.troubleSaid = says.join("|");
    this.shownAt = performance.now(); // what stands below moves: a press that was meant for what stood there is not taken
    document.getElementById("told").replaceChildren(...says.map((one) => h("p", { class: "problem" }, one)));
  }

  async told(how) {
    if (how !== "sending") this.how = how;
    try {
      this.counts = await this.keeping.counts();
    } catch {
      this.how = "lost";
    }
    this.strip();
  }

  lost() {
    this.how = "lost";
    this.strip();
  }

  /**
   * A press that was not taken, because it came too soon after the last one: said, or it is pressed again unseen. It stays
   * when the screen of the first press comes up only then.
   */
  bounced() {
    this.bouncedAt = performance.now();
    document.getElementById("bounce").replaceChildren(h("p", {}, "Too soon after the last press: not taken. Look, then press again."));
  }

  message(title, ...more) {
    this.put({ body: [h("div", { class: "stage" }, h("div", { class: "head" },
      h("h1", { class: "act middle" }, h("span", {}, title)), ...more, h("div", { class: "keys quiet" }, themeKey())))] });
  }

  nothingKept() {
    this.message("This browser keeps nothing.",
      h("p", { class: "aside" }, "Its storage is refused, full or private, so nothing that is pressed here would last. ",
        h("a", { href: "/" }, "The plain pages"), " lead an entry while there is a network; the printed sheet always does."));
  }

  form(title, fields, says, take) {
    const inputs = fields.map(([name, label, more]) => [label, h("input", { id: name, name, autocomplete: "off", required: true, ...more })]);
    const problem = h("p", { class: "problem", role: "alert", hidden: true });
    const submit = async (event) => {
      event.preventDefault();
      if (this.busy) return;
      this.busy = true;
      problem.hidden = true;
      try {
        const trouble = await take(...inputs.map(([, input]) => input.value.trim()));
        if (trouble) {
          problem.textContent = say(trouble);
          problem.hidden = false;
        }
      } finally {
        this.busy = false;
      }
    };
    this.message(title, problem, h("form", { class: "plain", onsubmit: submit },
      inputs.map(([label, input]) => [h("label", { for: input.id }, label), input]), h("button", { class: "go" }, says)));
  }
}
