// Keeps the files of the tablet's page, and serves them with or without a network. It keeps no data: events and bundles
// live in the page's own database. It never takes over from an older one while a page is open: nothing interrupts an entry.

const KEPT = "vestry-tablet-{{ version }}";
const FILES = new Set({{ files|safe }});

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(KEPT).then((kept) => kept.addAll([...FILES].map((file) => new Request(file, { cache: "reload" })))),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys().then((names) =>
      Promise.all(names.filter((name) => name.startsWith("vestry-tablet-") && name !== KEPT).map((name) => caches.delete(name))),
    ).then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin || !FILES.has(address.pathname)) return;
  event.respondWith(
    caches.open(KEPT).then((kept) => kept.match(address.pathname)).then((found) => found ?? fetch(event.request)),
  );
});
