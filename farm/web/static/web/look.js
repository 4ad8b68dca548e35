// Drawings wider than the screen open where today is, not at their beginning.
"use strict";
for (const drawing of document.querySelectorAll("svg[data-look-at]")) {
  const box = drawing.parentElement;
  const scale = drawing.getBoundingClientRect().width / drawing.viewBox.baseVal.width;
  box.scrollLeft = drawing.dataset.lookAt * scale - box.clientWidth / 3;
}
