// The service worker of /capture: its pages and scripts without a server, checked by their hash; no request waits in here.
// The server puts a first line before this: const FILES = [[path, sha256], …], VERSION = "…".
const NAME = `plumeline capture ${VERSION}`;
const KNOWN = new Map(FILES);

async function kept(path) {
  const reply = await fetch(path, { cache: "reload", redirect: "error" });
  if (!reply.ok) throw new Error(`${path}: ${reply.status}`);
  const data = await reply.arrayBuffer();
  const hash = [...new Uint8Array(await crypto.subtle.digest("SHA-256", data))].map((x) => x.toString(16).padStart(2, "0")).join("");
  // a page of another version, or of a sign-in, does not become part of this one
  if (hash !== KNOWN.get(path)) throw new Error(`${path} is not of this version`);
  const cache = await caches.open(NAME);
  await cache.put(path, new Response(data, { headers: reply.headers }));
}

self.addEventListener("install", (event) => {
  event.waitUntil(Promise.all(FILES.map(([path]) => kept(path))));
});

// a new version waits until the page says that no draft is open
self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("plumeline capture ") && name !== NAME) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin || !KNOWN.has(url.pathname)) return;
  event.respondWith((async () => {
    const cache = await caches.open(NAME);
    return (await cache.match(url.pathname)) || fetch(event.request);
  })());
});
