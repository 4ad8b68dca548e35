// Dragging a name of the week onto another name gives that round away. The round's own page does the same by a form.
"use strict";
const form = document.getElementById("give-by-drag");
let held = null;
for (const hint of document.querySelectorAll(".drag-hint")) hint.hidden = !matchMedia("(pointer: fine)").matches;
for (const chip of document.querySelectorAll("[data-give]")) {
  chip.addEventListener("dragstart", (event) => {
    held = chip;
    event.dataTransfer.effectAllowed = "move";
    event.dataTransfer.setData("text/plain", chip.textContent.trim());
  });
  chip.addEventListener("dragend", () => {
    held = null;
  });
}
for (const token of document.querySelectorAll(".token[data-member]")) {
  token.addEventListener("dragover", (event) => {
    if (!held || held.dataset.giver === token.dataset.member) return;
    event.preventDefault();
    token.classList.add("aimed");
  });
  token.addEventListener("dragleave", () => token.classList.remove("aimed"));
  token.addEventListener("drop", (event) => {
    event.preventDefault();
    token.classList.remove("aimed");
    if (!held) return;
    for (const name of ["day", "round", "giver"]) form.elements[name].value = held.dataset[name];
    form.elements.member.value = token.dataset.member;
    form.submit();
  });
}
