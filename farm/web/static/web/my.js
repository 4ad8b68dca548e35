// Takes the forms of the personal page over: what is ticked is written down on this phone, shown at once, and sent.
"use strict";
(() => {
  const my = document.getElementById("my");
  const say = my.dataset, who = say.who, base = say.base;
  const BACK_OFF = [5, 15, 60, 300], AGAIN_MS = 600, LONGEST = 1600; // project default (judgement)
  const KINDS = { tick: say.sayTick, untick: say.sayUntick, skip: say.saySkip, note: say.sayNoted };
  const at = (id) => document.getElementById(id);
  let last = null, tries = 0, timer = 0;

  // crypto.randomUUID is for secure pages only; a farm may be served on its own plain network.
  function key() {
    if (crypto.randomUUID) return crypto.randomUUID();
    return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  my.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-queue]")) return;
    event.preventDefault();
    const line = form.closest("li"), kind = (event.submitter || form.querySelector("button[name=kind]")).value;
    const guarded = line || form;
    if (guarded.dataset.busy) return; // a thumb that trembles means one tick
    guarded.dataset.busy = "1";
    setTimeout(() => delete guarded.dataset.busy, AGAIN_MS);
    const typed = new FormData(form), note = String(typed.get("note") || "").trim();
    if ((kind === "skip" || kind === "note") && !note) return pending(line, kind === "skip" ? say.sayReason : say.sayNoted, form);
    if (kind === "tick" && lacks(line, note, typed.get("photo"))) return askFor(line);
    const item = { key: key(), kind, at: new Date().toISOString(), note, title: String(typed.get("title") || "") };
    for (const name of ["source", "due", "round", "proof"]) item[name] = String(typed.get(name) || "");
    for (const name of ["minutes", "batch", "housing", "birds"]) item[name] = Number(typed.get(name)) || 0;
    try {
      const photo = kind === "tick" ? await shrunk(typed.get("photo")) : null;
      await MyQueue.add({ who, base, signed: say.signed === "1", item, photo });
    } catch {
      return plainly(form, kind); // no database in this browser: as without scripts
    }
    for (const input of form.querySelectorAll("input[name=note], input[name=birds], input[name=photo]")) input.value = "";
    const fold = form.closest("details.died");
    if (fold) fold.open = false;
    await draw();
    const worker = navigator.serviceWorker && (await navigator.serviceWorker.getRegistration(base));
    if (worker && worker.sync) worker.sync.register("my-queue").catch(() => undefined);
    tries = 0;
    send();
  });

  // What a chore asks for besides its tick; the server asks for the same.
  function lacks(line, note, photo) {
    const asks = line && !note ? line.dataset.asks : "";
    return asks === "note" || (asks === "photo" && !(photo instanceof Blob && photo.size));
  }

  function askFor(line) {
    line.querySelector("details.behind").open = true;
    pending(line, line.dataset.asks === "note" ? say.sayAsksNote : say.sayAsksPhoto, line.querySelector("form.say"));
  }

  function plainly(form, kind) {
    const hidden = Object.assign(document.createElement("input"), { type: "hidden", name: "kind", value: kind });
    form.append(hidden);
    form.submit();
  }

  // A picture of several megabytes is drawn smaller before it waits; what can't be drawn here goes as it is.
  async function shrunk(file) {
    if (!(file instanceof Blob) || !file.size) return null;
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
      const sheet = Object.assign(document.createElement("canvas"), { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
      sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
      return (await new Promise((done) => sheet.toBlob(done, "image/jpeg", 0.85))) || file;
    } catch {
      return file;
    }
  }

  function pending(line, text, form) {
    const place = line && line.querySelector(".pending");
    if (place) Object.assign(place, { hidden: !text, textContent: text });
    if (form) form.querySelector("input[name=note]").focus();
  }

  // Shows the page as it will be once all that waits is sent.
  async function draw() {
    const rows = (await MyQueue.waiting()).filter((row) => row.who === who);
    const states = new Map();
    for (const { item } of rows) {
      const name = `${item.source}|${item.due}|${item.round}`;
      const state = { tick: "done", skip: "skipped", untick: "open" }[item.kind];
      states.set(name, state || states.get(name) || "");
    }
    for (const line of my.querySelectorAll("li[data-line]")) {
      const waits = states.has(line.dataset.line);
      show(line, (waits && states.get(line.dataset.line)) || line.dataset.server);
      line.classList.toggle("waits", waits);
      pending(line, waits ? say.sayWaiting : "");
    }
    if (rows.length) progress();
    list(rows);
    tell(rows);
    await notices();
  }

  // Counts what waits as done; the minutes that are left are the server's to say.
  function progress() {
    const known = [...my.querySelectorAll("li[data-line]")], done = known.filter((line) => line.dataset.state !== "open").length;
    const count = at("my-progress").querySelector(".count"), left = at("my-progress").querySelector(".left"), bar = my.querySelector(".mybar");
    if (count) count.textContent = say.sayProgress.replace("DONE", done).replace("TOTAL", known.length);
    if (left) left.hidden = true;
    if (bar) bar.value = done;
    for (const round of my.querySelectorAll(".myround:has(.roundleft)")) {
      const lines = [...round.querySelectorAll("li[data-line]")], open = lines.filter((line) => line.dataset.state === "open").length;
      round.querySelector(".roundleft").textContent = open ? say.sayLeft.replace("LEFT", open).replace("TOTAL", lines.length) : say.sayAll;
    }
  }

  function show(line, state) {
    line.dataset.state = state;
    const mark = line.querySelector(".tick > span, span.tick"), button = line.querySelector("button.tick");
    mark.textContent = { done: "✓", skipped: "–" }[state] || "";
    if (!button) return;
    button.value = state === "open" ? "tick" : "untick";
    button.setAttribute("aria-label", state === "open" ? button.dataset.labelTick : button.dataset.labelUntick);
  }

  function list(rows) {
    at("my-waiting").hidden = !rows.length;
    at("my-waiting").querySelector("ul").replaceChildren(...rows.map(({ item, photo }) => {
      const what = item.kind === "died" ? say.sayDied.replace("NUMBER", item.birds) : KINDS[item.kind];
      const more = [what, item.note, photo ? say.sayPhoto : "", new Date(item.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })];
      return Object.assign(document.createElement("li"), { textContent: `${item.title}: ${more.filter(Boolean).join(", ")}` });
    }));
  }

  function counted(rows) {
    const ticks = rows.every((row) => row.item.kind === "tick");
    if (rows.length === 1) return ticks ? say.sayTickOne : say.sayWaitOne;
    return (ticks ? say.sayTickMany : say.sayWaitMany).replace("NUMBER", rows.length);
  }

  function tell(rows) {
    const state = navigator.onLine ? last : last === "signin" || last === "gone" ? last : "offline";
    const why = { offline: say.sayKept, signin: say.saySignin, other: say.sayOther, gone: say.sayGone, busy: say.sayBusy }[state] || "";
    const text = !rows.length ? (state === "offline" ? say.sayOffline : "") : why ? `${counted(rows)} ${why}` : "";
    if (at("my-state").textContent !== text) Object.assign(at("my-state"), { hidden: !text, textContent: text });
  }

  // What was answered otherwise than expected stays until it was seen.
  async function notices() {
    const rows = (await MyQueue.said()).filter((row) => row.who === who);
    if (!rows.length && !at("my-said").querySelector("button")) return;
    at("my-said").hidden = !rows.length;
    at("my-said").replaceChildren(...rows.map((row) => {
      const entry = document.createElement("li"), title = document.createElement("strong"), seen = document.createElement("button");
      entry.className = row.status;
      title.textContent = (row.status === "refused" ? `${say.sayRefused}: ` : "") + row.title;
      Object.assign(seen, { type: "button", textContent: say.saySeen });
      seen.addEventListener("click", async () => { await MyQueue.dismiss(row.id); draw(); });
      const note = row.status === "refused" && row.note ? ` (${say.sayNote}: ${row.note})` : "";
      entry.append(title, ` ${row.text}${note} `, seen);
      return entry;
    }));
  }

  async function send() {
    clearTimeout(timer);
    const ends = await MyQueue.send(), end = ends[who];
    last = end ? end.state : navigator.onLine ? null : "offline";
    for (const { row, answer } of end ? end.answered : []) {
      const line = my.querySelector(`li[data-line="${CSS.escape(`${row.item.source}|${row.item.due}|${row.item.round}`)}"]`);
      const state = { tick: "done", skip: "skipped", untick: "open" }[row.item.kind];
      if (line && state && answer.status === "done") line.dataset.server = state;
    }
    if (end && end.answered.length) await refresh();
    await draw();
    if (end && ["offline", "busy"].includes(end.state)) {
      timer = setTimeout(send, 1000 * Math.max(end.wait, BACK_OFF[Math.min(tries++, BACK_OFF.length - 1)]));
    } else tries = 0;
  }

  // Puts the server's page of this moment in place of the lines, and keeps it as the last good copy.
  async function refresh() {
    if ([...my.querySelectorAll("#my-work input[name=note], #my-work input[type=number]")].some((input) => input.value)) return;
    try {
      const response = await fetch(base, { redirect: "manual", cache: "no-store" });
      if (!response.ok || response.headers.get("X-My-Who") !== who) return;
      const copy = response.clone(), page = new DOMParser().parseFromString(await response.text(), "text/html");
      const focused = document.activeElement && document.activeElement.id;
      for (const fold of page.querySelectorAll("#my-work details[id]")) fold.open = at(fold.id) ? at(fold.id).open : fold.open;
      at("my-work").replaceWith(page.getElementById("my-work"));
      at("my-made").replaceWith(page.getElementById("my-made"));
      if (focused && at(focused)) at(focused).focus({ preventScroll: true });
      if ("caches" in self) await MyQueue.keep(base, copy);
    } catch { /* no network: the page stays as it is */ }
  }

  // Whoever signs out takes their copies with them.
  document.addEventListener("submit", async (event) => {
    if (!event.target.matches("form[action$='/logout/']")) return;
    event.preventDefault();
    await Promise.race([MyQueue.forget().catch(() => undefined), new Promise((done) => setTimeout(done, 1000))]);
    event.target.submit();
  });

  async function begin() {
    await draw().catch(() => undefined);
    const old = Date.now() - new Date(at("my-made").dateTime) > 60000;
    if (navigator.serviceWorker) {
      const guarded = navigator.serviceWorker.controller;
      navigator.serviceWorker.register(say.worker, { scope: new URL(say.worker, location.href).pathname.replace(/[^/]*$/, "") })
        .then(() => navigator.serviceWorker.ready).then(() => (guarded ? undefined : refresh())).catch(() => undefined);
    }
    await send();
    if (old) { await refresh(); await draw(); }
  }

  window.addEventListener("online", send);
  window.addEventListener("offline", draw);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
  if (MyQueue.channel) MyQueue.channel.onmessage = async () => { await refresh(); await draw(); };
  begin();
})();
