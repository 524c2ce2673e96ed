// An entry that is led: its events, the state that they make, the clocks, and what a press does.

import { choose, identify } from "./arriving.js";
import { moments, rubbed, spans } from "./clocks.js";
import { fold, ledAlong } from "./fold.js";
import { Frame, SETTLE } from "./frame.js";
import { clockNow, uuid7 } from "./keeping.js";
import { mayBeShown, speakFor } from "./languages.js";
import { menu } from "./menu.js";
import { eventsOf } from "./presses.js";
import { phrase, say } from "./say.js";
import { Shown, drawn } from "./screen.js";
import { readStep } from "./speech.js";
import { tickAll } from "./ticking.js";

/** What is written on the screen, where the focus and the page stand: to be put back on the same screen drawn anew. */
function remembered() {
  const fields = [...document.querySelectorAll("#screen input[id], #screen select[id]")].map(({ id, value }) => [id, value]);
  const open = [...document.querySelectorAll("#screen details")].map((one) => one.open);
  const [focus, top] = [document.activeElement?.id, scrollY];
  return () => {
    for (const [id, value] of fields) {
      const field = document.getElementById(id);
      if (field) field.value = value;
    }
    document.querySelectorAll("#screen details").forEach((one, n) => { one.open = open[n] ?? false; });
    if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
    scrollTo(0, top);
  };
}

export class Leading extends Frame {
  constructor() {
    super();
    Object.assign(this, { bundle: null, led: null, events: [], state: null, view: null });
  }

  async lead(entry) {
    this.bundle = await this.keeping.bundle(entry);
    if (!this.bundle) {
      this.trouble = "The entry that was led here is not on this tablet any more: its storage was cleared. Go on with the printed sheet or another tablet.";
      await this.keeping.setMeta({ entry: null });
      identify(this);
      return;
    }
    if (!mayBeShown(this.bundle)) {
      this.bundle = null;
      this.trouble = "This entry is no drill, and its words are in a translation that nobody has reviewed. Take it again, in English.";
      await this.keeping.setMeta({ entry: null });
      identify(this);
      return;
    }
    if (!this.quiet && speakFor(this.bundle)) return;
    this.sending.entry = entry;
    this.led = ledAlong(this.bundle.carried);
    this.events = await this.keeping.events(entry);
    this.counts = await this.keeping.counts();
    await this.clockJumped(this.steady.reopened(this.#own()));
    this.show();
  }

  async leave() {
    await this.keeping.setMeta({ entry: null });
    if (speakFor(null)) return;
    this.sending.entry = null;
    this.bundle = null;
    await choose(this);
  }

  // ---- clocks ----

  #own() {
    return this.events.filter((one) => one.device === this.tablet);
  }

  tick() {
    if (!this.bundle) return;
    this.clockJumped(this.steady.look(Math.max(0, ...this.#own().map((one) => one.counter))));
    tickAll();
  }

  /** Times go on being right; that the device's clock was set is said, for the record has what it told. */
  async clockJumped(jump) {
    if (!jump) return;
    const minutes = Math.max(1, Math.round(Math.abs(jump.by) / 60_000));
    this.jumped = jump.by > 0
      ? phrase`This tablet's clock jumped ${minutes} min forward. The clocks shown here go on; the record has what it told.`
      : phrase`This tablet's clock jumped ${minutes} min back. The clocks shown here go on; the record has what it told.`;
    this.strip();
    await this.keeping.setMeta({ jumps: this.steady.jumps }).catch(() => {});
  }

  #at() {
    return moments(this.events, this.steady, this.tablet);
  }

  spans() {
    return spans(this.state, this.bundle.clocks["limit-minutes"], this.#at(), Date.now());
  }

  rubbed(step) {
    return rubbed(this.state, step, this.#at(), Date.now());
  }

  // ---- what is shown, and what is pressed ----

  show(said = []) {
    this.state = fold(this.led, this.events);
    this.shown = new Shown(this.bundle, this.led, this.state);
    if (this.quiet) return;
    const { kind, ...parts } = drawn(this, this.shown);
    this.put(parts);
    const screen = document.getElementById("screen");
    if (!this.view) screen.append(menu(this));
    screen.dataset.kind = kind;
    if (said.length) screen.dataset.said = said.map((one) => one.id).join(",");
    readStep(this.shown);
  }

  /** Something beside the steps, that no event says yet: {name, ...}. null: back to the step. */
  open(view) {
    if (performance.now() - this.shownAt < SETTLE) this.bounced();
    else this.look(view);
  }

  look(view) {
    this.view = view;
    this.show();
  }

  /** What the screen is about: while it stays, what others say takes nothing away that is being written here. */
  #screen({ stage, course, position, held } = this.state) {
    return JSON.stringify([stage, course, position, held]);
  }

  async heard() {
    if (!this.bundle || this.busy) return;
    const [before, screen] = [JSON.stringify(this.state), this.#screen()];
    this.events = await this.keeping.events(this.bundle.entry);
    const now = fold(this.led, this.events);
    if (JSON.stringify(now) === before) return;
    if (this.#screen(now) !== screen) this.view = null;
    const back = this.#screen(now) === screen ? remembered() : () => {};
    this.show();
    back();
  }

  /** One press. It is on the screen once it is on the disk; where it cannot be kept, nothing is taken, and that is said. */
  async press(name, said, atOnce = false) {
    if (!this.bundle) return;
    if (this.busy || (!atOnce && name !== "stopped" && performance.now() - this.shownAt < SETTLE)) {
      this.bounced();
      return;
    }
    this.busy = true;
    try {
      const clock = clockNow(this.events, this.tablet);
      const events = eventsOf(name, said, this.led, this.state).map(([kind, payload]) => ({
        id: uuid7(), entry: this.bundle.entry, kind, payload, actor: this.person, device: this.tablet, clock, plan: this.bundle.carried.plan,
      }));
      const kept = await this.keeping.say(events);
      this.events = [...this.events, ...kept];
      if (this.trouble === this.notTaken) this.trouble = "";
      this.counts = { ...this.counts, unsent: this.counts.unsent + kept.length };
      this.view = null;
      this.show(kept);
    } catch (problem) {
      const why = problem?.name === "QuotaExceededError" ? say("this tablet's storage is full") : say("this tablet's storage does not answer");
      this.trouble = this.notTaken = phrase`That press was not taken: ${why}. Go on with the printed sheet or another tablet.`;
      this.strip();
    } finally {
      this.busy = false;
    }
    this.sending.now();
  }
}
