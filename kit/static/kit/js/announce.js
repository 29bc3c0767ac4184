// Reads out what changed. Other scripts dispatch "kit:say" with the text; a list swapped in by htmx says its own count.
(() => {
  "use strict";

  const say = (text) => {
    const region = document.getElementById("announce");
    if (!region || !text) return;
    // Emptied first, because a screen reader stays silent when the same text is set twice.
    region.textContent = "";
    window.setTimeout(() => { region.textContent = text; }, 60);
  };

  document.addEventListener("kit:say", (event) => say(event.detail));

  document.addEventListener("htmx:afterSettle", (event) => {
    const count = event.target.querySelector?.("[data-listing-count]");
    if (count) say(count.textContent.trim());
  });
})();
