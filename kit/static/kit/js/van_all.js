// The list of vans: fetches each job's page, so that it opens without signal afterwards.
(() => {
  "use strict";

  const list = document.querySelector("[data-van-all]");
  if (!list || !("serviceWorker" in navigator)) return;
  const fetchAll = async () => {
    const pages = [window.location.href, ...[...list.querySelectorAll("a[href]")].map((link) => link.href)];
    const answers = await Promise.allSettled(pages.map((page) => fetch(page, { headers: { Accept: "text/html" }, credentials: "same-origin" })));
    const said = document.querySelector("[data-van-all-kept]");
    if (answers.every((answer) => answer.status === "fulfilled" && answer.value.ok)) said.hidden = false;
  };
  navigator.serviceWorker.register("/van/worker.js").then(() => navigator.serviceWorker.ready).then(() => {
    if (navigator.serviceWorker.controller) fetchAll();
    else navigator.serviceWorker.addEventListener("controllerchange", fetchAll, { once: true });
  }).catch(() => {});
})();
