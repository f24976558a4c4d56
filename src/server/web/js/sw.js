// @ts-check
// Works without a network: what the pages are made of is kept by its name, which holds its hash; pages and the
// opened set's cases come from the network when there is one, and from the device when there is none. What is
// judged is never kept: no feedback, no summary, nothing but what a rater may see before scoring.

const worker = /** @type {any} */ (self);
const partsName = 'evenhand-parts-1';
const pagesName = 'evenhand-pages-1';

/** @param {URL} url */
const isPart = url => url.pathname.startsWith('/a/');
/** /a/js/frame.HASH.js without its hash. @param {string} address */
const withoutHash = address => address.replace(/\.[^./]+(?=\.[^./]+$)/, '');
/** @param {URL} url */
const isPage = url => url.pathname === '/' || /^\/(about|progress|sitting\/[^/]+|learn\/[^/]+)$/.test(url.pathname);
/** @param {URL} url */
const isForScoring = url =>
  /^\/api\/(instruments\/[^/]+|sets|sittings\/[^/]+|sittings\/[^/]+\/cases\/[^/]+|poses(\/[^/]+)?)$/.test(url.pathname);

worker.addEventListener('install', (/** @type {any} */ event) => event.waitUntil(worker.skipWaiting()));
worker.addEventListener('activate', (/** @type {any} */ event) => event.waitUntil((async () => {
  for (const name of await caches.keys())
    if (name.startsWith('evenhand-') && name !== partsName && name !== pagesName) await caches.delete(name);
  await worker.clients.claim();
})()));

worker.addEventListener('message', (/** @type {any} */ event) => {
  const names = Array.isArray(event.data?.keep) ? event.data.keep : [];
  event.waitUntil(Promise.all(names.map(async (/** @type {string} */ name) => {
    const url = new URL(name);
    if (url.origin !== location.origin) return;
    if (isPart(url)) {
      const parts = await caches.open(partsName);
      if (await parts.match(name)) return;
      await parts.add(name).catch(() => {});
      // The same file of an earlier release.
      for (const old of await parts.keys())
        if (old.url !== name && withoutHash(old.url) === withoutHash(name)) await parts.delete(old);
    } else if (isPage(url)) {
      await fromNetwork(new Request(name, {credentials: 'same-origin'})).catch(() => {});
    }
  })));
});

/** @param {Request} request */
async function fromDevice(request) {
  const parts = await caches.open(partsName);
  const kept = await parts.match(request);
  if (kept) return kept;
  const response = await fetch(request);
  if (response.ok) await parts.put(request, response.clone());
  return response;
}

/** @param {Request} request */
async function fromNetwork(request) {
  const pages = await caches.open(pagesName);
  try {
    const response = await fetch(request, {signal: AbortSignal.timeout(8000)});
    // A redirect leads to the page for signing in: not what was asked for. Of a navigation it is not followed here.
    const elsewhere = response.redirected || response.type === 'opaqueredirect';
    if (response.ok && !elsewhere) await pages.put(request.url, response.clone());
    else if (response.status === 401 || response.status === 404 || elsewhere) await pages.delete(request.url);
    if (response.status < 500) return response;
    return (await pages.match(request.url)) ?? response;
  } catch (error) {
    const kept = await pages.match(request.url);
    if (kept) return kept;
    throw error;
  }
}

worker.addEventListener('fetch', (/** @type {any} */ event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== location.origin) return;
  if (isPart(url)) event.respondWith(fromDevice(event.request));
  else if ((event.request.mode === 'navigate' && isPage(url)) || isForScoring(url))
    event.respondWith(fromNetwork(event.request));
});
