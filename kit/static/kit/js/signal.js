// Says when there is no signal and how old the page is, because a yard has dead corners and an old list looks like a new one.
(() => {
  "use strict";

  const banner = () => document.getElementById("no-signal");

  const show = () => {
    const box = banner();
    if (!box) return;
    const fetched = new Date(box.dataset.fetchedAt);
    const lang = document.documentElement.lang === "en" ? "en-GB" : document.documentElement.lang || undefined;
    const time = fetched.toLocaleTimeString(lang, { hour: "2-digit", minute: "2-digit" });
    box.querySelector("[data-signal-text]").textContent = box.dataset.text.replace("{time}", time);
    box.hidden = false;
  };
  const hide = () => { const box = banner(); if (box) box.hidden = true; };

  window.addEventListener("offline", show);
  window.addEventListener("online", hide);
  document.addEventListener("htmx:sendError", show);
  document.addEventListener("htmx:timeout", show);
  document.addEventListener("htmx:afterRequest", (event) => { if (event.detail.xhr?.status) hide(); });
  if (navigator.onLine === false) show();
})();
