// Stands between the pages and the network. It keeps one page that is the same for everybody, and the files that page
// needs; what belongs to a person lies in the store and is wiped when their turn ends.
const KEPT = {{ kept|safe }};
importScripts(KEPT.store);
const CACHE = `no-signal-${KEPT.version}`;
const PATIENCE_MS = 10_000;
const RECORDS = /^\/C\/([^/]+)\/(use|loss|found)$/;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    await cache.addAll([KEPT.shell, ...KEPT.files].map((url) => new Request(url, { cache: "no-cache" })));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("no-signal-") && name !== CACHE) await caches.delete(name);
    await self.clients.claim();
  })());
});

const shell = async () => (await caches.match(KEPT.shell, { ignoreVary: true })) || Response.error();
const within = (milliseconds) => new Promise((_, failed) => { setTimeout(() => failed(new Error("too slow")), milliseconds); });

const opened = async (request) => {
  try { return await Promise.race([fetch(request), within(PATIENCE_MS)]); } catch { return shell(); }
};

// A form that was sent and found no network is not lost: an amount goes into the queue under the form's own key, so that
// it makes one line even if the server had it already.
const told = (form, act) => {
  const isMass = act === "use" && (form.get("way") === "mass" ? !(form.get("amount") && !form.get("gross")) : Boolean(form.get("gross") && !form.get("amount")));
  if (form.get("what")) return { act: form.get("what"), amount: form.get("amount") || "", unit: form.get("unit") || "", device: "", reason: "", batch: null };
  const rest = { reason: form.get("reason") || "", batch: Number(form.get("batch")) || null };
  if (isMass) return { act: "weigh", amount: form.get("gross") || "", unit: "g", device: form.get("other_device") || form.get("balance") || "", ...rest };
  const what = act === "use" ? "use" : act === "found" ? "found" : form.get("kind") || "";
  return { act: what, amount: form.get("amount") || "", unit: form.get("unit") || "", device: form.get("other_device") || form.get("device") || "", ...rest };
};

const sent = async (request, path) => {
  const copy = request.clone();
  try { return await fetch(request); } catch { /* no network: see below */ }
  const found = RECORDS.exec(path);
  const form = found && new URLSearchParams(await copy.text());
  const code = found && decodeURIComponent(found[1]);
  // an amount for somebody else, or from another time, is asked for again: the draft keeps it
  if (form && form.get("amount") + form.get("gross") && !form.get("at") && !form.get("for_person") && !form.has("more")) {
    await deviceStore.add(await deviceStore.entry(code, told(form, found[2]), form.get("key"), ""));
    return Response.redirect(`/C/${code}?kept`, 303);
  }
  return Response.redirect(found ? `/C/${code}?not-sent` : `${KEPT.shell}?not-sent`, 303);
};

const ended = async (request) => {
  await deviceStore.forget();
  try { return await fetch(request); } catch { return Response.redirect(`${KEPT.shell}?ended`, 303); }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && KEPT.ends.includes(url.pathname)) { event.respondWith(ended(request)); return; }
  if (request.mode === "navigate") {
    if (request.method === "GET") event.respondWith(opened(request));
    else if ((request.headers.get("content-type") || "").startsWith("application/x-www-form-urlencoded")) event.respondWith(sent(request, url.pathname));
    return;
  }
  if (request.method === "GET" && KEPT.files.includes(url.pathname)) {
    event.respondWith(caches.match(request, { ignoreVary: true }).then((found) => found || fetch(request)));
  }
});
