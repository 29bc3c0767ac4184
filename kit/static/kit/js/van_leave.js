// Signing out on a phone that still keeps entries asks first; the pages kept for when there is no signal go with the person.
(() => {
  "use strict";

  const form = document.querySelector("form[data-van-leave]");
  if (!form || !window.vanQueue) return;
  const count = async () => {
    const waiting = (await window.vanQueue.waitingOf(form.dataset.vanLeave)).length;
    if (waiting) form.dataset.confirm = form.dataset.text.replace("{n}", waiting);
    else delete form.dataset.confirm;
  };
  count();
  document.addEventListener("van:changed", count);
  form.addEventListener("submit", () => { window.caches?.delete("fettlebook-van-pages"); });
})();
