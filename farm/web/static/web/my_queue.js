// What was ticked and not yet sent, kept in the browser's own database: used by the page (my.js) and its worker alike.
// Everything is written down before it is sent, and goes only when the server has answered it by its own key.
"use strict";
const MyQueue = (() => {
  const PAGES = "my-pages-", MEMBERS = "my-pages-member-";
  const MOST_PAGES = 12, MOST_AT_ONCE = 50; // project default (judgement)
  const channel = "BroadcastChannel" in self ? new BroadcastChannel("my-queue") : null;
  let opened = null;

  function database() {
    opened ||= new Promise((resolve, reject) => {
      const asked = indexedDB.open("featherdays-my", 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore("waiting", { keyPath: "id", autoIncrement: true });
        asked.result.createObjectStore("said", { keyPath: "id", autoIncrement: true });
      };
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => { opened = null; reject(asked.error); };
    });
    return opened;
  }

  async function run(store, mode, act) {
    const base = await database();
    return new Promise((resolve, reject) => {
      const transaction = base.transaction(store, mode, { durability: "strict" });
      const asked = act(transaction.objectStore(store));
      transaction.oncomplete = () => resolve(asked.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  }

  const waiting = () => run("waiting", "readonly", (store) => store.getAll());
  const said = () => run("said", "readonly", (store) => store.getAll());
  const add = (row) => run("waiting", "readwrite", (store) => store.add(row));
  const drop = (id) => run("waiting", "readwrite", (store) => store.delete(id));
  const say = (row) => run("said", "readwrite", (store) => store.add(row));
  const dismiss = (id) => run("said", "readwrite", (store) => store.delete(id));

  // Sends all that waits, in order, each sender's apart. Returns by sender how it ended and what was answered.
  async function send() {
    const act = async () => {
      const ends = {};
      for (const who of new Set((await waiting()).map((row) => row.who))) ends[who] = await sendOf(who);
      return ends;
    };
    // Two tabs and the worker may all want to: one after the other. Without locks, the server knows the keys.
    const ends = await (self.navigator.locks ? self.navigator.locks.request("my-send", act) : act());
    if (channel && Object.values(ends).some((end) => end.answered.length)) channel.postMessage("sent");
    return ends;
  }

  async function sendOf(who) {
    const answered = [];
    let most = MOST_AT_ONCE;
    const end = (state, wait = 0) => ({ state, wait, answered });
    for (;;) {
      const rows = next((await waiting()).filter((row) => row.who === who), most);
      if (!rows.length) return end("sent");
      let response;
      try {
        const token = rows[0].signed ? await freshToken(rows[0].base) : { who };
        if (typeof token === "string") return end(token);
        if (token.who !== who) return end("other");
        response = await post(rows, token.token);
      } catch {
        return end("offline");
      }
      const state = ended(response);
      if (state) return end(state, Number(response.headers.get("Retry-After")) || 0);
      if (response.ok) {
        answered.push(...(await settle(rows, (await response.json()).answers)));
      } else if (rows.length > 1) {
        most = 1; // one of them is what the server can't read; the others are to go
      } else {
        const text = await response.json().then((body) => body.text, () => String(response.status));
        answered.push(...(await settle(rows, [{ key: rows[0].item.key, status: "refused", text }])));
      }
    }
  }

  // Pictures go alone, everything else up to `most` at once.
  function next(rows, most) {
    const until = rows.findIndex((row) => row.photo);
    return until === 0 ? rows.slice(0, 1) : rows.slice(0, Math.min(most, until < 0 ? rows.length : until));
  }

  async function freshToken(base) {
    const response = await fetch(`${base}token/`, { redirect: "manual", cache: "no-store" });
    return ended(response) || (response.ok ? response.json() : "busy");
  }

  function ended(response) {
    if (response.type === "opaqueredirect" || response.status === 401 || response.status === 403) return "signin";
    if (response.status === 409) return "other";
    if (response.status === 404 || response.status === 410) return "gone";
    return response.status === 429 || response.status >= 500 ? "busy" : "";
  }

  function post(rows, token) {
    const sent = JSON.stringify({ who: rows[0].who, items: rows.map((row) => row.item) });
    const headers = token ? { "X-CSRFToken": token } : {};
    let body = sent;
    if (rows[0].photo) {
      body = new FormData();
      body.append("sent", sent);
      body.append("photo", rows[0].photo, "photo");
    } else headers["Content-Type"] = "application/json";
    return fetch(`${rows[0].base}sync/`, { method: "POST", headers, body, redirect: "manual" });
  }

  async function settle(rows, answers) {
    const found = [];
    for (const row of rows) {
      const answer = answers.find((one) => one.key === row.item.key);
      if (!answer) continue;
      // Said first, dropped then: killed in between it is said twice, never not at all.
      if (answer.text) await say({ who: row.who, status: answer.status, text: answer.text, title: row.item.title, note: row.item.note, at: row.item.at });
      await drop(row.id);
      found.push({ row, answer });
    }
    return found;
  }

  // Keeps a page's last good copy, each member's apart; another member's copies go when somebody else is there.
  async function keep(path, response) {
    const who = response.headers.get("X-My-Who");
    const never = /no-store/.test(response.headers.get("Cache-Control") || "");
    if (!response.ok || !who || never || response.redirected) return;
    if (who.startsWith("member-")) await forget(PAGES + who);
    const pages = await caches.open(PAGES + who);
    await pages.put(path, response);
    const known = await pages.keys();
    for (const old of known.slice(0, Math.max(0, known.length - MOST_PAGES))) await pages.delete(old);
  }

  async function kept(path) {
    for (const name of await caches.keys()) {
      const found = name.startsWith(PAGES) && (await (await caches.open(name)).match(path));
      if (found) return found;
    }
    return undefined;
  }

  async function lose(path) {
    for (const name of await caches.keys()) if (name.startsWith(PAGES)) await (await caches.open(name)).delete(path);
  }

  // Removes what signed-in members saw, but for the cache named; a link's own page stays with its link.
  async function forget(but = "") {
    if (!("caches" in self)) return;
    for (const name of await caches.keys()) if (name.startsWith(MEMBERS) && name !== but) await caches.delete(name);
  }

  return { waiting, said, add, dismiss, send, keep, kept, lose, forget, channel };
})();
