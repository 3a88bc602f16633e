// Keeps the tally page and its files on the device, so that it opens where there is no signal.
// What is tallied is not kept here: the page keeps it in the device's own database.
const SETTINGS = {{ settings|safe }};
// Each language has a worker and a cache of its own, which no other may clear away.
const CACHE = `${SETTINGS.cache}-${SETTINGS.version}`;
const EARLIER = new RegExp(`^${SETTINGS.cache}-[0-9a-f]{16}$`);

/** Fetch a file past the browser's own cache. A redirect means sign-in, which is not to be kept. */
async function keep(cache, address) {
  const answer = await fetch(new Request(address, { cache: "reload", credentials: "same-origin" }));
  if (!answer.ok || answer.redirected) throw new Error(`${address} could not be kept`);
  await cache.put(address, answer.clone());
  return answer;
}

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    await Promise.all([...SETTINGS.files, SETTINGS.page].map((address) => keep(cache, address)));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (EARLIER.test(name) && name !== CACHE) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

/** The page as kept, so that it opens at once and without a signal; a newer one is fetched for next time. */
async function page(event) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(SETTINGS.page);
  const fresh = keep(cache, SETTINGS.page);
  if (!kept) return fresh;
  event.waitUntil(fresh.catch(() => undefined));
  return kept;
}

async function file(address, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(address)) ?? fetch(request);
}

/** Pages of entry at the desk need the network; without it the tally opens in their place. */
async function other(request) {
  try {
    return await fetch(request);
  } catch (problem) {
    const kept = await (await caches.open(CACHE)).match(SETTINGS.page);
    if (kept) return kept;
    throw problem;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    if (pathname === SETTINGS.page) event.respondWith(page(event));
    else if (pathname.startsWith(SETTINGS.scope)) event.respondWith(other(request));
  } else if (SETTINGS.files.includes(pathname)) {
    event.respondWith(file(pathname, request));
  }
});
