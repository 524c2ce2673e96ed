// The order in which events count, whatever the order in which they came: vestry/entry/order.py, in the browser.

/** Below zero where `a` stands before `b`: by code points, as Python compares, not by UTF-16 units. */
export function compare(a, b) {
  if (a === b) return 0;
  const left = [...a];
  const right = [...b];
  const shorter = Math.min(left.length, right.length);
  for (let n = 0; n < shorter; n += 1) {
    if (left[n] !== right[n]) return left[n].codePointAt(0) - right[n].codePointAt(0);
  }
  return left.length - right.length;
}

/** The events once each, in the order in which they count. */
export function inOrder(events) {
  const byDevice = new Map();
  for (const event of new Map(events.map((one) => [one.id, one])).values()) {
    if (!byDevice.has(event.device)) byDevice.set(event.device, []);
    byDevice.get(event.device).push(event);
  }
  const keyed = [];
  for (const [device, own] of byDevice) {
    let latest = "";
    for (const event of own.sort((a, b) => a.counter - b.counter || compare(a.id, b.id))) {
      if (compare(event.clock, latest) > 0) latest = event.clock;
      keyed.push({ latest, device, event });
    }
  }
  keyed.sort(
    (a, b) =>
      compare(a.latest, b.latest) ||
      compare(a.device, b.device) ||
      a.event.counter - b.event.counter ||
      compare(a.event.id, b.event.id),
  );
  return keyed.map((one) => one.event);
}
