// Has this browser show messages: asks its owner, subscribes with the server's key, hands the subscription over.
"use strict";
{
  const form = document.querySelector("form[data-push-key]");
  const able = form && window.isSecureContext && "serviceWorker" in navigator && "PushManager" in window && "Notification" in window;
  if (able) {
    form.hidden = false;
    document.querySelector("[data-push-missing]").hidden = true;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      turnOn(form).catch(() => say(form, form.querySelector("[data-push-said]").dataset.failed));
    });
  }

  function say(form, text) {
    const said = form.querySelector("[data-push-said]");
    said.textContent = text;
    said.hidden = !text;
  }

  async function turnOn(form) {
    const said = form.querySelector("[data-push-said]");
    say(form, "");
    if (await Notification.requestPermission() !== "granted") return say(form, said.dataset.refused);
    const worker = await navigator.serviceWorker.register(form.dataset.pushWorker, { scope: form.dataset.pushScope });
    await navigator.serviceWorker.ready;
    const answer = await fetch(form.action, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": form.elements.csrfmiddlewaretoken.value },
      body: JSON.stringify(await subscribed(worker.pushManager, form.dataset.pushKey)),
    });
    const { why } = await answer.json();
    if (why) say(form, why);
    else window.location.reload();
  }

  // A subscription made with a key the server no longer has is given up for a new one.
  async function subscribed(manager, key) {
    const wanted = { userVisibleOnly: true, applicationServerKey: bytes(key) };
    try {
      return await manager.subscribe(wanted);
    } catch (error) {
      const old = await manager.getSubscription();
      if (!old) throw error;
      await old.unsubscribe();
      return manager.subscribe(wanted);
    }
  }

  function bytes(key) {
    const text = atob(key.replace(/-/g, "+").replace(/_/g, "/"));
    return Uint8Array.from(text, (one) => one.charCodeAt(0));
  }
}
