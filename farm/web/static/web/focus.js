// Browsers bring a focused shape of a drawing into sight only now and then; whoever tabs must see where they are.
"use strict";
document.addEventListener("focusin", (event) => {
  if (event.target.closest("svg.plot")) event.target.scrollIntoView({ block: "nearest", inline: "nearest" });
});
