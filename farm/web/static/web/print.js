// The browser's own print dialogue on a button; without scripts the button is not shown.
document.addEventListener("DOMContentLoaded", () => {
  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
});
