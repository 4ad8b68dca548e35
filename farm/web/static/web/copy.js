// Shows and serves the copy buttons: each copies the value of the field that `data-copy` names.
"use strict";
for (const button of document.querySelectorAll("button[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  if (!field) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    field.focus();
    field.select();
    let copied = false;
    // The clipboard is closed to pages without https; the older way still works there.
    try { await navigator.clipboard.writeText(field.value); copied = true; } catch { copied = document.execCommand("copy"); }
    const said = document.getElementById(button.dataset.copied);
    if (said && copied) said.hidden = false;
  });
}
