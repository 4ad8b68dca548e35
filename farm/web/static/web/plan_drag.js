// Dragging a band of the board opens its stay's form with the new days and housing filled in, and what they would do.
// Nothing is saved here. Fingers scroll the board instead; the form alone does everything without this file.
"use strict";
const SLACK = 6; // CSS pixels a press may tremble before it is a drag
for (const band of document.querySelectorAll("a.band[data-stay]")) {
  const plot = band.closest("svg");
  let pressed = null;
  let dragged = false;
  const scale = () => plot.viewBox.baseVal.width / plot.getBoundingClientRect().width;
  const way = (event) => [event.clientX - pressed.x, event.clientY - pressed.y];
  const release = () => {
    pressed = null;
    band.removeAttribute("transform");
    plot.classList.remove("dragging");
  };
  band.addEventListener("dragstart", (event) => event.preventDefault());
  band.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || event.pointerType === "touch") return;
    pressed = { x: event.clientX, y: event.clientY };
    dragged = false;
  });
  band.addEventListener("pointermove", (event) => {
    if (!pressed) return;
    const [x, y] = way(event);
    if (!dragged && Math.hypot(x, y) < SLACK) return;
    if (!dragged) band.setPointerCapture(event.pointerId);
    dragged = true;
    plot.classList.add("dragging");
    band.setAttribute("transform", `translate(${x * scale()} ${y * scale()})`);
  });
  band.addEventListener("pointerup", (event) => {
    if (!pressed) return;
    const [x] = way(event);
    const days = Math.round((x * scale()) / Number(plot.dataset.dayWidth));
    release();
    if (!dragged) return;
    const under = document.elementsFromPoint(event.clientX, event.clientY);
    const target = under.map((one) => one.closest("svg[data-housing]")).find((one) => one) || plot;
    if (days || target !== plot) {
      window.location.href = `${band.dataset.stay}?shift=${days}&housing=${target.dataset.housing}`;
    }
  });
  band.addEventListener("pointercancel", release);
  band.addEventListener("click", (event) => {
    if (dragged) event.preventDefault();
  });
}
