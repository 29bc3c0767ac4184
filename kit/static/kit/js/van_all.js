// The list of vans: keeps each job's page, so that it opens without signal afterwards.
(() => {
  "use strict";

  const list = document.querySelector("[data-van-all]");
  if (!list || !("serviceWorker" in navigator)) return;
  const pages = [window.location.href, ...[...list.querySelectorAll("a[href]")].map((link) => link.href)];
  window.vanQueue.keepPages(pages).then((kept) => { document.querySelector("[data-van-all-kept]").hidden = !kept; }).catch(() => {});
})();
