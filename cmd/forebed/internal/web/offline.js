
// The service worker of the static site. It keeps the files above and answers
// from them, so that the page works with the network cut. Two lines stand in
// front of this when the site is written: the version and the list of files.

self.addEventListener("install", function (e) {
  e.waitUntil(caches.open(version)
    .then(function (c) { return c.addAll(files); })
    .then(function () { return self.skipWaiting(); }));
});

self.addEventListener("activate", function (e) {
  e.waitUntil(caches.keys().then(function (names) {
    return Promise.all(names
      .filter(function (n) { return n.startsWith("forebed-") && n !== version; })
      .map(function (n) { return caches.delete(n); }));
  }).then(function () { return self.clients.claim(); }));
});

self.addEventListener("fetch", function (e) {
  if (e.request.method !== "GET" || !e.request.url.startsWith(self.registration.scope)) { return; }
  e.respondWith(caches.open(version)
    .then(function (c) { return c.match(e.request, { ignoreSearch: true }); })
    .then(function (kept) { return kept || fetch(e.request); }));
});
