// Polls [data-progress-url] and moves the bar. See templates/components/progress.html for the answer it expects.
(() => {
  "use strict";

  const POLL_MS = 1000;
  const SAY_MS = 5000;

  const follow = (box) => {
    const bar = box.querySelector("progress");
    const text = box.querySelector("[data-progress-text]");
    const next = box.querySelector("[data-progress-next]");
    let saidAt = 0;

    const show = (words, at_once) => {
      // The line is a live region: changed every second it would never let a screen reader finish.
      if (!words || (!at_once && Date.now() - saidAt < SAY_MS)) return;
      saidAt = Date.now();
      text.textContent = words;
    };

    const poll = async () => {
      if (!box.isConnected) return;
      let answer = null;
      try {
        const response = await fetch(box.dataset.progressUrl, { headers: { Accept: "application/json" }, credentials: "same-origin" });
        if (response.ok) answer = await response.json();
      } catch { /* no signal: told below, tried again */ }
      if (!answer) { show(box.dataset.textLost, true); window.setTimeout(poll, POLL_MS * 3); return; }
      if (answer.total) { bar.max = answer.total; bar.value = answer.done; }
      const ended = answer.state !== "running";
      show(answer.text, ended);
      if (!ended) { window.setTimeout(poll, POLL_MS); return; }
      if (answer.state === "done") { bar.max = bar.max || 1; bar.value = bar.max; }
      if (answer.next) {
        next.querySelector("a").href = answer.next;
        next.hidden = false;
      }
    };
    poll();
  };

  for (const box of document.querySelectorAll("[data-progress-url]")) if (box.dataset.progressUrl) follow(box);
})();
