// The screen stays on while the page is looked at: nobody unlocks a device in wet gloves.
//
// A browser lets go whenever the page is hidden or the battery runs low, and may refuse (it needs HTTPS). So it is asked
// again each time the page is seen, and now and then.

const AGAIN = 30_000;

/** Keep the screen on from here. What is returned says whether the browser does so now. */
export function stayAwake() {
  let held = null;
  const ask = async () => {
    if (held || document.visibilityState !== "visible") return;
    try {
      const got = await navigator.wakeLock.request("screen");
      got.addEventListener("release", () => { held = null; });
      held = got;
    } catch {
      // Refused, or there is no such thing here: whoever asked says so.
    }
  };
  document.addEventListener("visibilitychange", ask);
  setInterval(ask, AGAIN);
  ask();
  return () => held !== null;
}
