// Keeps the floor board's shell on the device, so that it opens without a network. It keeps the files listed here and
// nothing else: no answer of the API, no other page. What a coach entered is in IndexedDB, which nothing here touches.
const VERSION = "{{ version }}";
const FILES = {{ files|safe }};
const HOME = FILES[0];
const PREFIX = "floor-shell-";
const CACHE = PREFIX + VERSION;

// All or none, and as the server has them now: what the page has just loaded is asked for, and not sent, again. A page to
// sign in that comes instead is not kept.
const fresh = (address) => new Request(address, { cache: "no-cache", credentials: "omit", redirect: "error" });

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES.map(fresh))));
});

// Older shells go once this one has taken over.
self.addEventListener("activate", (event) => {
  event.waitUntil(forgetOlder().then(() => self.clients.claim()));
});

// A page says when nothing runs in it that a new version could disturb.
self.addEventListener("message", (event) => {
  if (event.data?.type === "take over") event.waitUntil(self.skipWaiting());
});

self.addEventListener("fetch", (event) => {
  const address = addressOf(event.request);
  if (address) event.respondWith(fromShell(address, event.request));
});

// The listed address that a request is for, or null: then it passes by.
function addressOf(request) {
  const { origin, pathname, search } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return null;
  if (pathname === HOME) return HOME;
  return !search && FILES.includes(pathname) ? pathname : null;
}

async function fromShell(address, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(address, { ignoreVary: true })) ?? fetch(request);
}

async function forgetOlder() {
  const names = await caches.keys();
  const older = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(older.map((name) => caches.delete(name)));
}
