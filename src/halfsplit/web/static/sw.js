// Without a signal: the page that was last seen, with everything it needs. Never anything newer
// than the program itself would give, and nothing of it once this device was shut out.
"use strict";
var PARTS = "halfsplit-parts", PAGES = "halfsplit-pages", MOST = 40;
var NEEDED = ["/static/pages.css", "/static/keep.js", "/static/pages.js", "/static/htmx.min.js", "/static/mark.svg", "/no-signal"];

self.addEventListener("install", function (event) {
  event.waitUntil(caches.open(PARTS).then(function (box) { return box.addAll(NEEDED); }).then(function () { return self.skipWaiting(); }));
});
self.addEventListener("activate", function (event) { event.waitUntil(self.clients.claim()); });

self.addEventListener("fetch", function (event) {
  var asked = event.request, url = new URL(asked.url);
  if (asked.method !== "GET" || url.origin !== self.location.origin) { return; }
  if (url.pathname.indexOf("/static/") === 0) { event.respondWith(part(asked)); }
  else if (asked.mode === "navigate" || /\/next$/.test(url.pathname)) { event.respondWith(page(asked)); }
});

// The page changed under the reader's eyes: keep it as it stands now.
self.addEventListener("message", function (event) {
  var url = new URL(event.data.seen);
  if (url.origin === self.location.origin) { event.waitUntil(page(new Request(url.href.split("#")[0], { credentials: "same-origin" }))); }
});

function part(asked) {
  return fetch(asked).then(function (answer) {
    if (answer.ok) { var copy = answer.clone(); caches.open(PARTS).then(function (box) { box.put(asked, copy); }); }
    return answer;
  }).catch(function () { return caches.match(asked, { cacheName: PARTS }); });
}

function page(asked) {
  return fetch(asked).then(function (answer) {
    if (answer.status === 401) { caches.delete(PAGES); }
    else if (answer.ok && (answer.headers.get("content-type") || "").indexOf("text/html") === 0) {
      var copy = answer.clone();
      caches.open(PAGES).then(function (box) {
        return box.delete(asked.url).then(function () { return box.put(asked.url, copy); }).then(function () { return box.keys(); })
          .then(function (kept) { return Promise.all(kept.slice(0, Math.max(0, kept.length - MOST)).map(function (old) { return box.delete(old); })); });
      });
    }
    return answer;
  }).catch(function () { return seen(asked); });
}

function seen(asked) {
  return caches.open(PAGES).then(function (box) {
    return box.match(asked.url).then(function (found) {
      return found || box.match(asked.url, { ignoreSearch: true });
    });
  }).then(function (found) { return found || caches.match("/no-signal", { cacheName: PARTS }); });
}
