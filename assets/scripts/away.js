// Gives the pages of boxes from the phone where the computer cannot be reached; always the newest where it can.

const SHELF = "sampling-1";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && url.pathname.startsWith("/sampling/box/")) {
    event.respondWith(newest(request, url.pathname));
  } else if (url.pathname.startsWith("/static/")) {
    event.respondWith(newest(request, url.pathname));
  }
});

async function newest(request, key) {
  const shelf = await caches.open(SHELF);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await shelf.put(key, answer.clone());
    return answer;
  } catch (lost) {
    const kept = await shelf.match(key);
    if (kept) return kept;
    throw lost;
  }
}
