// Entries still kept by this phone go to the store from whatever page is opened next, which says so until they are there.
(() => {
  "use strict";

  const notice = document.getElementById("van-waiting");
  const queue = window.vanQueue;
  if (!notice || !queue || document.querySelector("[data-van]")) return; // the page beside the van sends them itself
  const RETRY_MS = 15000;
  const text = notice.querySelector("[data-van-waiting-text]");
  const waiting = async () => (await queue.waitingOf(notice.dataset.user)).length;

  const tell = (words, n) => {
    text.textContent = words.replace("{n}", n);
    notice.hidden = false;
  };

  let taken = 0;
  const go = async () => {
    const before = await waiting();
    if (!before) return;
    tell(notice.dataset.text, before);
    try {
      await queue.send();
    } catch { /* no signal or no answer: they stay here, and are tried again */ }
    const left = await waiting();
    taken += before - left;
    if (left) {
      tell(notice.dataset.text, left);
      setTimeout(go, RETRY_MS);
    } else tell(notice.dataset.textSent, taken);
  };
  go().catch(() => { /* the phone lets no page look into what it keeps */ });
})();
