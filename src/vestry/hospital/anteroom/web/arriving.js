// Before an entry: the tablet is enrolled, someone says who they are by badge and PIN, and an entry is taken.

import { tooLowToBegin } from "./battery.js";
import { h } from "./drawing.js";
import { languageChoice, speakFor } from "./languages.js";
import * as pin from "./pin.js";
import { chosen, phrase } from "./say.js";
import { ask } from "./sending.js";
import { voiceChoice } from "./speech.js";

export function enrol(app) {
  app.form("This tablet is not enrolled.", [["code", "Code from the lead (Tablets, on the desk)", { maxlength: "20", autocapitalize: "characters" }]], "Enrol it",
    async (code) => {
      let answer;
      try {
        answer = await ask("/tablet/enrol/", { body: { code } });
      } catch {
        return "No network: a tablet is enrolled where there is one.";
      }
      if (answer.status !== 200) return says(answer);
      const { tablet, name, token } = answer.body;
      await app.keeping.setMeta({ tablet, name, token });
      app.tablet = tablet;
      await keepsItsStorage();
      identify(app);
      return null;
    });
  document.querySelector("#screen .head").append(
    h("p", { class: "aside" }, "If it was enrolled before, its storage was cleared: what it had not sent is lost. Go on with the printed sheet, and write it down afterwards."));
}

export function identify(app) {
  app.form("Who is at this tablet?", [["badge", "Badge", { maxlength: "40" }], ["pin", "PIN", { type: "password", inputmode: "numeric", maxlength: "12" }]], "Go on",
    async (badge, number) => {
      if (await pin.tooMany(app.keeping)) return "Too many wrong tries. Wait a quarter of an hour, or use the plain pages.";
      const token = await app.keeping.meta("token");
      try {
        const answer = await ask("/tablet/identify/", { token, body: { badge, pin: number } });
        if (answer.status === 200) {
          const { person, identified } = answer.body;
          await app.keeping.setMeta({ person, identified });
          app.person = person;
          await choose(app);
          return null;
        }
        if (answer.status < 500) {
          await pin.failed(app.keeping);
          return says(answer);
        }
      } catch {
        // No network: the bundles that are here know their people.
      }
      const known = await pin.whoIs(await app.keeping.bundles(), badge, number);
      if (!known) {
        await pin.failed(app.keeping);
        return "No network, and no entry on this tablet knows this badge and PIN.";
      }
      await app.keeping.setMeta({ person: known["sign-in"], identified: null });
      app.person = known["sign-in"];
      await choose(app);
      return null;
    });
}

/** Whether the browser promises not to clear what is kept here. Asked each time: it may refuse at first and grant it later. */
async function keepsItsStorage() {
  const storage = navigator.storage;
  try {
    return Boolean((await storage?.persisted?.()) || (await storage?.persist?.()));
  } catch {
    return false;
  }
}

/** Entries that can be led here: those the server tells of, and those carried already. */
export async function choose(app) {
  const carried = (await app.keeping.bundles()).filter((one) => one.people.some((who) => who["sign-in"] === app.person));
  let listed = [];
  let counter = 0;
  try {
    const answer = await ask("/tablet/entries/", { token: await app.keeping.meta("token"), identified: await app.keeping.meta("identified") });
    if (answer.status === 401 || answer.status === 403) app.trouble = says(answer);
    listed = answer.body?.entries ?? [];
    counter = answer.body?.counter ?? 0;
  } catch {
    app.how = "no-network";
  }
  const known = new Set(carried.map((one) => one.entry));
  const row = (entry, name, more) => h("div", { class: "card", "data-entry": entry }, h("h2", {}, name), h("p", {}, more),
    h("button", { type: "button", class: "go", "data-take": "lead", onclick: () => take(app, entry, counter, true) }, "Lead it here"),
    h("button", { type: "button", "data-take": "together", onclick: () => take(app, entry, counter, false) }, "Observe together"));
  const own = listed.map((one) => row(one.entry, one.wearer, one.drill ? phrase`${one.procedure}, drill; observer ${one.observer}` : phrase`${one.procedure}; observer ${one.observer}`));
  const here = carried.filter((one) => !listed.some((other) => other.entry === one.entry))
    .map((one) => row(one.entry, one.people.find((who) => who.part === "wearer").name, phrase`${one.carried.approval.title}; on this tablet already`));
  const battery = app.battery();
  app.message(own.length + here.length ? "Which entry?" : "No entry is open.",
    tooLowToBegin(battery) ? h("p", { class: "problem", "data-battery": battery.percent }, phrase`Battery ${battery.percent} %. Charge this tablet, or lead the entry on another one.`) : null,
    h("div", { class: "cards" }, own, here),
    h("p", { class: "aside" }, known.size || own.length ? "" : "Open one on the desk, then come back here."),
    battery ? null : h("p", { class: "aside", "data-check": "battery" }, "This browser does not tell the battery: look at it before anyone goes in."),
    app.awake() ? null : h("p", { class: "aside", "data-check": "screen" }, "This browser does not keep the screen on: set the device to stay on for longer than an entry."),
    (await keepsItsStorage()) ? null : h("p", { class: "aside", "data-check": "storage" }, "This browser may clear its storage when it runs full. Keep the tablet charged, and send before it is put away."),
    h("div", { class: "keys" }, h("button", { type: "button", onclick: () => choose(app) }, "Look again"), h("button", { type: "button", onclick: () => identify(app) }, "Someone else")),
    languageChoice(), voiceChoice(() => choose(app)));
}

export async function take(app, entry, counter, leads) {
  if (app.busy) return;
  app.busy = true;
  app.trouble = "";
  try {
    const who = { token: await app.keeping.meta("token"), identified: await app.keeping.meta("identified"), patience: 60_000 };
    const place = `/tablet/entries/${entry}/bundle/`;
    let answer = await ask(`${place}?language=${encodeURIComponent(chosen())}`, who);
    // No drill, and the language is a draft: in English then.
    if (answer.status === 422 && answer.body?.problems?.[0]?.field === "language") answer = await ask(place, who);
    if (answer.status === 200) await app.keeping.keepBundle(answer.body, counter);
    else if (!(await app.keeping.bundle(entry))) app.trouble = says(answer);
  } catch (problem) {
    if (problem?.name === "QuotaExceededError") app.trouble = "This tablet's storage is full: the entry does not fit.";
    else if (!(await app.keeping.bundle(entry))) app.trouble = "No network, and the entry is not on this tablet yet.";
  } finally {
    app.busy = false;
  }
  if (!(await app.keeping.bundle(entry))) {
    app.strip();
    return;
  }
  app.sending.entry = entry;
  await app.sending.now();
  await app.keeping.setMeta({ entry });
  app.quiet = true; // nothing of the entry shows before the page speaks as the entry may
  await app.lead(entry);
  if (app.bundle && leads && app.state.leads !== app.tablet) await app.press("device-taken-over", {}, true);
  if (app.bundle && leads && app.state.observer !== app.person) await app.press("observer-handed-over", { to: app.person, identified: true }, true);
  app.quiet = false;
  if (app.bundle && !speakFor(app.bundle)) app.show();
}

function says(answer) {
  return answer.body?.problems?.map((one) => `${one.what.charAt(0).toUpperCase()}${one.what.slice(1)}.`).join(" ") || "The server does not answer as it should.";
}
