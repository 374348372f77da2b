// Keeps the Log pages and those of boxes with what they need, so that they open without a signal. A page
// comes from the book where there is one, and from the device only where there is none.
import { SHELF } from './shared/shelf.js';
import { send } from './shared/waiting.js';

const PAGES = ['/log', '/sampling/box/', '/static/'];
const FILES = ['/static/look.css', '/static/log.js', '/static/ticks.js', '/static/mark.svg', '/static/serif-400.woff2', '/static/serif-600.woff2', '/static/sans-400.woff2', '/static/sans-600.woff2'];
const PATIENCE = 5_000;

self.addEventListener('install', (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(SHELF).then((kept) => kept.addAll(FILES)));
});

self.addEventListener('activate', (event) => {
  const others = async () => {
    for (const name of await caches.keys()) if (name !== SHELF) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(others());
});

async function fetchAndKeep(request) {
  const answer = await fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
  if (answer.ok && !answer.redirected) {
    const kept = await caches.open(SHELF);
    await kept.put(request, answer.clone());
  }
  return answer;
}

async function answer(request) {
  try {
    return await fetchAndKeep(request);
  } catch (why) {
    const kept = await caches.open(SHELF);
    const found =
      (await kept.match(request)) ??
      // After something was done the address carries a word that no kept page has.
      (await kept.match(new URL(request.url).pathname));
    if (found) return found;
    throw why;
  }
}

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const { pathname, origin } = new URL(request.url);
  const ours = origin === self.location.origin && PAGES.some((start) => pathname.startsWith(start));
  if (request.method === 'GET' && ours) event.respondWith(answer(request));
});

self.addEventListener('message', (event) => {
  const keep = async () => {
    for (const page of new Set(event.data?.pages ?? [])) await fetchAndKeep(page).catch(() => {});
    event.source?.postMessage('kept');
  };
  event.waitUntil(keep());
});

self.addEventListener('sync', (event) => event.waitUntil(send()));
