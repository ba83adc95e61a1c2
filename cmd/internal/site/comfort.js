"use strict";
// Comfort only: every page works without it.
document.querySelectorAll("[data-noscript]").forEach((e) => { e.hidden = true; });
document.querySelectorAll("[data-print]").forEach((e) => {
  e.hidden = false;
  e.addEventListener("click", () => window.print());
});
document.querySelectorAll("form[data-draw]").forEach((form) => {
  const says = document.getElementById("says");
  const drawn = document.getElementById("drawn");
  let waits, asking;
  const draw = async () => {
    if (asking) asking.abort();
    const mine = asking = new AbortController();
    try {
      const answer = await fetch(form.dataset.draw, { method: "POST", body: new URLSearchParams(new FormData(form)), signal: mine.signal });
      if (!answer.ok) throw new Error(answer.status);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine !== asking) return;
      const line = page.querySelector("[data-says]");
      says.textContent = line.textContent;
      line.remove();
      drawn.replaceChildren(...page.body.childNodes);
    } catch (e) {
      if (mine !== asking || mine.signal.aborted) return;
      says.textContent = "This picture could not be drawn. Press: Draw it.";
      drawn.replaceChildren();
    }
    drawn.removeAttribute("aria-busy");
  };
  form.addEventListener("input", () => {
    drawn.setAttribute("aria-busy", "true");
    clearTimeout(waits);
    waits = setTimeout(draw, 500);
  });
});
