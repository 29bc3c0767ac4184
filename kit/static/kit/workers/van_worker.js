// Keeps the pages under /van/ and what they are drawn with, so that they open without signal.
// A page is asked of the store first and shown as it was kept if that gives no answer soon; how old it is stands on it.
// VERSION and ASSETS are put before this by the store.
"use strict";

const PAGES = "fettlebook-van-pages";
const FILES = `fettlebook-van-files-${VERSION}`;
const PATIENCE_MS = 4000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(FILES).then((kept) => kept.addAll(ASSETS)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const tidy = async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("fettlebook-van-files-") && name !== FILES) await caches.delete(name);
    }
    await self.clients.claim();
  };
  event.waitUntil(tidy());
});

const page = async (request) => {
  const kept = await caches.open(PAGES);
  const asked = fetch(request).then(async (answer) => {
    // A redirect leads to the sign-in page: that is no page of the van.
    if (answer.ok && !answer.redirected) await kept.put(request.url, answer.clone());
    return answer;
  });
  const late = new Promise((resolve) => { setTimeout(resolve, PATIENCE_MS, null); });
  try {
    const answer = await Promise.race([asked, late]);
    if (answer && answer.status < 500) return answer;
  } catch { /* no signal: as it was kept */ }
  return (await kept.match(request.url)) ?? asked;
};

const file = async (request) => {
  const kept = await caches.open(FILES);
  return (await kept.match(request, { ignoreSearch: true })) ?? fetch(request);
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  if (ASSETS.includes(address.pathname)) event.respondWith(file(request));
  else if (address.pathname.startsWith("/van/") && request.headers.get("Accept")?.includes("text/html")) event.respondWith(page(request));
});
