// The observer's page on an enrolled tablet. What was pressed goes to the device's database first, then on the screen, then
// to the server. Without a network it goes on; what is not sent yet is counted in the strip, always.

import { beside } from "./breach.js";
import { h } from "./drawing.js";
import { moments, rubbed, spans } from "./clocks.js";
import { fold, ledAlong } from "./fold.js";
import { clockNow, openKeeping, uuid7 } from "./keeping.js";
import { listen } from "./keys.js";
import * as pin from "./pin.js";
import { eventsOf } from "./presses.js";
import { Shown, drawn } from "./screen.js";
import { Sending, ask } from "./sending.js";
import { Steady } from "./steady.js";
import { tickAll } from "./ticking.js";
import { menu } from "./menu.js";
import { themeKey } from "./theme.js";
import { languageChoice, mayBeShown, speakFor } from "./languages.js";
import { chosen, speakFoot, spoken } from "./say.js";
import { readStep, voiceChoice } from "./speech.js";

const SETTLE = 350; // milliseconds after a new screen, in which a bouncing pedal or finger still belongs to the last press
const HOW = {
  "no-network": "No network. Everything is kept on this tablet and sent later.",
  "not-enrolled": "This tablet is not enrolled any more. It sends nothing; what it has stays on it. Tell the lead.",
  "not-carried": "The server does not know that this tablet carries the entry. Tell the lead.",
  server: "The server does not answer as it should. Everything is kept on this tablet and sent later.",
  lost: "This tablet's storage was closed or cleared. Go on with the printed sheet or another tablet.",
};

class App {
  constructor() {
    Object.assign(this, { keeping: null, sending: null, bundle: null, led: null, events: [], state: null });
    Object.assign(this, { busy: false, view: null, shownAt: 0, how: "", trouble: "", counts: { unsent: 0, refused: 0 } });
  }

  async begin() {
    speakFoot();
    this.#worker();
    try {
      this.keeping = await openKeeping(() => this.lost());
    } catch {
      this.nothingKept();
      return;
    }
    this.sending = new Sending(this.keeping, { told: (how) => this.told(how), heard: () => this.heard() });
    this.person = await this.keeping.meta("person");
    this.tablet = await this.keeping.meta("tablet");
    this.steady = new Steady(await this.keeping.meta("jumps"));
    setInterval(() => this.tick(), 1000);
    if (!(await this.keeping.meta("token"))) this.enrol();
    else if (await this.keeping.meta("entry")) await this.lead(await this.keeping.meta("entry"));
    else this.identify();
    this.sending.now();
  }

  #worker() {
    navigator.serviceWorker?.register("/sw.js", { scope: "/tablet/" }).catch(() => {
      this.trouble = "This page will not open again without a network: it was not reached over HTTPS.";
      this.strip();
    });
  }

  // ---- what is shown around every screen ----

  put({ edge = null, strip = [], body, night = false }) {
    document.body.classList.toggle("night", night);
    document.getElementById("edge").replaceChildren(...[edge].flat().filter(Boolean));
    document.getElementById("bounce").replaceChildren();
    document.getElementById("screen").replaceChildren(...body);
    this.stripParts = strip;
    this.shownAt = performance.now();
    this.strip();
    document.querySelector("[data-primary]")?.focus({ preventScroll: true });
  }

  strip() {
    const { unsent, refused } = this.counts;
    const count = h("span", { class: unsent ? "unsent mark" : "unsent", id: "unsent", "data-unsent": unsent },
      unsent ? `${unsent} not sent yet` : "all sent");
    const bad = refused ? h("span", { class: "mark" }, `${refused} could not be stored: tell the lead`) : null;
    document.getElementById("strip").replaceChildren(...[...(this.stripParts ?? []), count, bad].filter(Boolean));
    const says = [this.trouble, HOW[this.how], this.jumped].filter(Boolean);
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

  message(title, ...more) {
    this.put({ body: [h("main", { class: "stage" }, h("div", { class: "head" },
      h("h1", { class: "act middle" }, h("span", {}, title)), ...more, h("div", { class: "keys quiet" }, themeKey())))] });
  }

  nothingKept() {
    this.message("This browser keeps nothing.",
      h("p", { class: "aside" }, "Its storage is refused, full or private, so nothing that is pressed here would last. ",
        h("a", { href: "/" }, "The plain pages"), " lead an entry while there is a network; the printed sheet always does."));
  }

  // ---- before an entry ----

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
          problem.textContent = spoken(trouble);
          problem.hidden = false;
        }
      } finally {
        this.busy = false;
      }
    };
    this.message(title, problem, h("form", { class: "plain", onsubmit: submit },
      inputs.map(([label, input]) => [h("label", { for: input.id }, label), input]), h("button", { class: "go" }, says)));
  }

  enrol() {
    this.form("This tablet is not enrolled.", [["code", "Code from the lead (Tablets, on the desk)", { maxlength: "20", autocapitalize: "characters" }]], "Enrol it",
      async (code) => {
        let answer;
        try {
          answer = await ask("/tablet/enrol/", { body: { code } });
        } catch {
          return "No network: a tablet is enrolled where there is one.";
        }
        if (answer.status !== 200) return says(answer);
        const { tablet, name, token } = answer.body;
        await this.keeping.setMeta({ tablet, name, token });
        this.tablet = tablet;
        const stays = await navigator.storage?.persist?.().catch(() => false);
        await this.keeping.setMeta({ stays: Boolean(stays) });
        this.identify();
        return null;
      });
    document.querySelector("#screen .head").append(
      h("p", { class: "aside" }, "If it was enrolled before, its storage was cleared: what it had not sent is lost. Go on with the printed sheet, and write it down afterwards."));
  }

  identify() {
    this.form("Who is at this tablet?", [["badge", "Badge", { maxlength: "40" }], ["pin", "PIN", { type: "password", inputmode: "numeric", maxlength: "12" }]], "Go on",
      async (badge, number) => {
        if (await pin.tooMany(this.keeping)) return "Too many wrong tries. Wait a quarter of an hour, or use the plain pages.";
        const token = await this.keeping.meta("token");
        try {
          const answer = await ask("/tablet/identify/", { token, body: { badge, pin: number } });
          if (answer.status === 200) {
            const { person, identified } = answer.body;
            await this.keeping.setMeta({ person, identified });
            this.person = person;
            await this.choose();
            return null;
          }
          if (answer.status < 500) {
            await pin.failed(this.keeping);
            return says(answer);
          }
        } catch {
          // No network: the bundles that are here know their people.
        }
        const known = await pin.whoIs(await this.keeping.bundles(), badge, number);
        if (!known) {
          await pin.failed(this.keeping);
          return "No network, and no entry on this tablet knows this badge and PIN.";
        }
        await this.keeping.setMeta({ person: known["sign-in"], identified: null });
        this.person = known["sign-in"];
        await this.choose();
        return null;
      });
  }

  /** Entries that can be led here: those the server tells of, and those carried already. */
  async choose() {
    const carried = (await this.keeping.bundles()).filter((one) => one.people.some((who) => who["sign-in"] === this.person));
    let listed = [];
    let counter = 0;
    try {
      const answer = await ask("/tablet/entries/", { token: await this.keeping.meta("token"), identified: await this.keeping.meta("identified") });
      if (answer.status === 401 || answer.status === 403) this.trouble = says(answer);
      listed = answer.body?.entries ?? [];
      counter = answer.body?.counter ?? 0;
    } catch {
      this.how = "no-network";
    }
    const known = new Set(carried.map((one) => one.entry));
    const row = (entry, name, more) => h("div", { class: "card", "data-entry": entry }, h("h2", {}, name), h("p", {}, more),
      h("button", { type: "button", class: "go", "data-take": "lead", onclick: () => this.take(entry, counter, true) }, "Lead it here"),
      h("button", { type: "button", "data-take": "together", onclick: () => this.take(entry, counter, false) }, "Observe together"));
    const own = listed.map((one) => row(one.entry, one.wearer, `${one.procedure}${one.drill ? ", drill" : ""}; observer ${one.observer}`));
    const here = carried.filter((one) => !listed.some((other) => other.entry === one.entry))
      .map((one) => row(one.entry, one.people.find((who) => who.part === "wearer").name, `${one.carried.approval.title}; on this tablet already`));
    const stays = await this.keeping.meta("stays");
    this.message(own.length + here.length ? "Which entry?" : "No entry is open.",
      h("div", { class: "cards" }, own, here),
      h("p", { class: "aside" }, known.size || own.length ? "" : "Open one on the desk, then come back here."),
      stays ? null : h("p", { class: "aside" }, "This browser may clear its storage when it runs full. Keep the tablet charged, and send before it is put away."),
      h("div", { class: "keys" }, h("button", { type: "button", onclick: () => this.choose() }, "Look again"), h("button", { type: "button", onclick: () => this.identify() }, "Someone else")),
      languageChoice(), voiceChoice(() => this.choose()));
  }

  async take(entry, counter, leads) {
    if (this.busy) return;
    this.busy = true;
    this.trouble = "";
    try {
      const who = { token: await this.keeping.meta("token"), identified: await this.keeping.meta("identified"), patience: 60_000 };
      const place = `/tablet/entries/${entry}/bundle/`;
      let answer = await ask(`${place}?language=${encodeURIComponent(chosen())}`, who);
      // No drill, and the language is a draft: in English then.
      if (answer.status === 422 && answer.body?.problems?.[0]?.field === "language") answer = await ask(place, who);
      if (answer.status === 200) await this.keeping.keepBundle(answer.body, counter);
      else if (!(await this.keeping.bundle(entry))) this.trouble = says(answer);
    } catch (problem) {
      if (problem?.name === "QuotaExceededError") this.trouble = "This tablet's storage is full: the entry does not fit.";
      else if (!(await this.keeping.bundle(entry))) this.trouble = "No network, and the entry is not on this tablet yet.";
    } finally {
      this.busy = false;
    }
    if (!(await this.keeping.bundle(entry))) {
      this.strip();
      return;
    }
    this.sending.entry = entry;
    await this.sending.now();
    await this.keeping.setMeta({ entry });
    this.quiet = true; // nothing of the entry shows before the page speaks as the entry may
    await this.lead(entry);
    if (this.bundle && leads && this.state.leads !== this.tablet) await this.press("device-taken-over", {}, true);
    if (this.bundle && leads && this.state.observer !== this.person) await this.press("observer-handed-over", { to: this.person }, true);
    this.quiet = false;
    if (this.bundle && !speakFor(this.bundle)) this.show();
  }

  async leave() {
    await this.keeping.setMeta({ entry: null });
    if (speakFor(null)) return;
    this.sending.entry = null;
    this.bundle = null;
    await this.choose();
  }

  // ---- an entry ----

  async lead(entry) {
    this.bundle = await this.keeping.bundle(entry);
    if (!this.bundle) {
      this.trouble = "The entry that was led here is not on this tablet any more: its storage was cleared. Go on with the printed sheet or another tablet.";
      await this.keeping.setMeta({ entry: null });
      this.identify();
      return;
    }
    if (!mayBeShown(this.bundle)) {
      this.bundle = null;
      this.trouble = "This entry is no drill, and its words are in a translation that nobody has reviewed. Take it again, in English.";
      await this.keeping.setMeta({ entry: null });
      this.identify();
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
    this.jumped = `This tablet's clock jumped ${minutes} min ${jump.by > 0 ? "forward" : "back"}. The clocks shown here go on; the record has what it told.`;
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

  show(said = []) {
    this.state = fold(this.led, this.events);
    this.shown = new Shown(this.bundle, this.led, this.state);
    if (this.quiet) return;
    const { kind, ...parts } = drawn(this, this.shown);
    this.put(parts);
    const screen = document.getElementById("screen");
    screen.append(beside(this, this.view ? null : menu(this)));
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

  async heard() {
    if (!this.bundle || this.busy) return;
    const before = JSON.stringify(this.state);
    this.events = await this.keeping.events(this.bundle.entry);
    if (JSON.stringify(fold(this.led, this.events)) === before) return;
    this.view = null;
    this.show();
  }

  /** A press that was not taken, because it came too soon after the last one: said, or it is pressed again unseen. */
  bounced() {
    document.getElementById("bounce").replaceChildren(h("p", {}, "Too soon after the last press: not taken. Press again."));
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
      if (this.trouble.startsWith("That press")) this.trouble = "";
      this.counts = { ...this.counts, unsent: this.counts.unsent + kept.length };
      this.view = null;
      this.show(kept);
    } catch (problem) {
      const why = problem?.name === "QuotaExceededError" ? "this tablet's storage is full" : "this tablet's storage does not answer";
      this.trouble = `That press was not taken: ${why}. Go on with the printed sheet or another tablet.`;
      this.strip();
    } finally {
      this.busy = false;
    }
    this.sending.now();
  }
}

function says(answer) {
  return answer.body?.problems?.map((one) => `${one.what.charAt(0).toUpperCase()}${one.what.slice(1)}.`).join(" ") || "The server does not answer as it should.";
}

const app = new App();

listen();
app.begin();
