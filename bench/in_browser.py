"""What is put into a page of a benchmark: it watches, and changes nothing of what the page does."""

WATCH = """(() => {
  const seen = window.benchSeen = { long: [], presses: [], stored: [] };
  for (const type of ["longtask", "long-animation-frame"]) {
    new PerformanceObserver((list) => {
      for (const one of list.getEntries()) seen.long.push([type, one.startTime, one.duration]);
    }).observe({ type, buffered: true });
  }
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (stores, mode, options) {
    const made = begin.call(this, stores, mode, options);
    const events = mode === "readwrite" && [...made.objectStoreNames].includes("events");
    if (events) made.addEventListener("complete", () => seen.stored.push([performance.now(), made.durability]));
    return made;
  };
  let pressed = null, last = null;
  addEventListener("keydown", (event) => { pressed = event.timeStamp; }, true);
  document.addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
    const said = document.getElementById("screen")?.dataset.said;
    if (!said || said === last || pressed === null) return;
    const from = pressed, shown = performance.now();
    [last, pressed] = [said, null];
    requestAnimationFrame(() => {
      const after = new MessageChannel();
      after.port1.onmessage = () => seen.presses.push({ from, shown, painted: performance.now() });
      after.port2.postMessage(0);
    });
  }).observe(document.body, { subtree: true, attributes: true, attributeFilter: ["data-said"] }));
})();"""
"""A press: from the key's own time, to the screen that names its events as taken, to the task after that frame's paint.
Beside it when a strict transaction on the events ended, and every long task and long animation frame."""

BARE = """async () => {
  const db = await new Promise((yes, no) => {
    const asked = indexedDB.open("bare", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("all", { autoIncrement: true });
    asked.onsuccess = () => yes(asked.result);
    asked.onerror = () => no(asked.error);
  });
  const seen = window.benchSeen, number = document.querySelector("h1");
  document.addEventListener("keydown", (event) => {
    const from = event.timeStamp, change = db.transaction("all", "readwrite", { durability: "strict" });
    change.objectStore("all").add({ at: new Date().toISOString(), said: "done-seen" });
    change.oncomplete = () => {
      number.textContent = `${Number(number.textContent) + 1}`;
      const shown = performance.now();
      requestAnimationFrame(() => {
        const after = new MessageChannel();
        after.port1.onmessage = () => seen.presses.push({ from, shown, painted: performance.now() });
        after.port2.postMessage(0);
      });
    };
  });
}"""
"""The least: one row with strict durability, one number on the screen."""
