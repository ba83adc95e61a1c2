"use strict";
// Comfort only: every page works without it.
document.querySelectorAll("[data-noscript]").forEach((e) => { e.hidden = true; });
document.querySelectorAll("[data-print]").forEach((e) => {
  e.hidden = false;
  e.addEventListener("click", () => window.print());
});
