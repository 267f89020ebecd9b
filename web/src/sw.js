// Keeps the page itself, so that it opens with the network gone. Never an answer of the interface: what the book says
// is asked of the book. FILES and SUM are filled in by build.mjs.
const shelf = `hingeline-${SUM}`;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(shelf).then((cache) => cache.addAll(FILES)));
});
// Older ones go once no page of theirs is open: an open page may still ask for one of its parts.
self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter((n) => n.startsWith("hingeline-") && n !== shelf).map((n) => caches.delete(n)))));
});
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (event.request.mode === "navigate" && url.pathname === "/") {
    event.respondWith(fetch(event.request).catch(() => caches.match("/")));
  } else if (FILES.includes(url.pathname) && url.pathname !== "/") {
    // A name with a sum in it never changes what it says.
    event.respondWith(caches.match(url.pathname).then((kept) => kept ?? fetch(event.request)));
  }
});
