// Machines drawn wider than the screen open where today is, not at their beginning.
"use strict";
for (const box of document.querySelectorAll(".hatchery[data-look-at]")) {
  const drawing = box.querySelector("svg.plot"), name = box.querySelector(".name");
  const scale = drawing.getBoundingClientRect().width / Number(box.dataset.width);
  const free = box.clientWidth - name.getBoundingClientRect().width;
  box.scrollLeft = Number(box.dataset.lookAt) * scale - free / 3;
}
