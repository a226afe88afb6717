// Where there is no net at all: the practice's numbers instead of the browser's own error page. Only over https.
"use strict";
const KEPT = "without-a-net-1";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// A page says which files make up the page for a dead spot; they hold nothing about an owner or an animal.
self.addEventListener("message", (event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(event.data)));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  if (request.mode === "navigate") {
    const practice = new URL(request.url).pathname.split("/").slice(0, 3).join("/");
    event.respondWith(fetch(request).catch(async () => (await caches.match(`${practice}/no-net/`)) || Response.error()));
  } else if (request.destination === "style" || request.destination === "script") {
    event.respondWith(fetch(request).catch(async () => (await caches.match(request)) || Response.error()));
  }
});
