// The tablet's battery, where the browser tells it: asked for before an entry, and only marked while one is led.
//
// Both limits are judgement: an entry of two hours with the screen on, and time enough to bring another tablet.

const BEFORE = 40; // percent, not charging: told where an entry is chosen
const LOW = 15; // percent, not charging: marked in the strip

/** Look after it; `changed` is called with every change. Nothing where the browser does not tell. */
export async function watchBattery(changed) {
  const battery = await globalThis.navigator?.getBattery?.().catch(() => null);
  if (!battery) return () => null;
  for (const name of ["levelchange", "chargingchange"]) battery.addEventListener(name, changed);
  return () => ({ percent: Math.round(battery.level * 100), charging: battery.charging });
}

export const tooLowToBegin = (told) => Boolean(told && !told.charging && told.percent < BEFORE);
export const low = (told) => Boolean(told && !told.charging && told.percent < LOW);
