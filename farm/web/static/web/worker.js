// Looks after the pages below /my/: the network first, else the last good copy. `MY` is written in front by the server.
"use strict";
importScripts(MY.queue);
const STATIC = "my-static-", SLOW_MS = 4000; // a bar of signal that carries nothing; project default (judgement)

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(STATIC + MY.version).then((cache) => cache.addAll(MY.shell)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith(STATIC) && name !== STATIC + MY.version) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== self.location.origin) return;
  if (event.request.mode === "navigate" && address.pathname.startsWith(MY.home)) event.respondWith(page(event, address.pathname));
  else if (MY.shell.includes(address.pathname)) event.respondWith(file(event.request));
});

async function file(request) {
  const known = await (await caches.open(STATIC + MY.version)).match(request.url);
  return known || fetch(request);
}

async function page(event, path) {
  const copy = await MyQueue.kept(path).catch(() => undefined);
  const asked = fetch(event.request);
  event.waitUntil(asked.then((response) => remember(path, response.clone()), () => undefined));
  try {
    const response = await (copy ? Promise.race([asked, late()]) : asked);
    return response.status >= 500 && copy ? copy : response;
  } catch {
    return copy || new Response(MY.offline, { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } });
  }
}

const late = () => new Promise((_, refuse) => setTimeout(() => refuse(new Error("slow")), SLOW_MS));

async function remember(path, response) {
  if (response.type === "opaqueredirect") return path === MY.home ? MyQueue.forget() : undefined; // signed out
  const never = /no-store/.test(response.headers.get("Cache-Control") || "");
  // A link that was switched off, a page that must not be kept: the old copy goes too.
  if (response.status === 404 || response.status === 410 || never) return MyQueue.lose(path);
  return MyQueue.keep(path, response);
}

self.addEventListener("sync", (event) => {
  if (event.tag !== "my-queue") return;
  event.waitUntil(MyQueue.send().then((ends) => {
    // A refusal makes the browser try again when there is a network.
    if (Object.values(ends).some((end) => end.state === "offline")) throw new Error("no network");
  }));
});

self.addEventListener("push", (event) => {
  let said = {};
  try { said = event.data.json(); } catch { return; }
  event.waitUntil(self.registration.showNotification(String(said.title || "Featherdays"), {
    body: String(said.body || ""), icon: MY.icon, badge: MY.icon, data: { url: String(said.url || MY.home) },
  }));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil((async () => {
    let address = new URL(MY.home, self.location.origin);
    try {
      const asked = new URL(event.notification.data.url, self.location.origin);
      if (asked.origin === self.location.origin) address = asked;
    } catch { /* not an address: the rounds are shown */ }
    for (const open of await self.clients.matchAll({ type: "window", includeUncontrolled: true })) {
      if (open.url.split("#")[0] === address.href.split("#")[0]) return open.focus();
    }
    return self.clients.openWindow(address.href);
  })());
});
