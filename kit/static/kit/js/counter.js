// The counter without a mouse. Ctrl+Z with an empty scan box undoes the last act; Ctrl+Enter finishes the issue once every
// code that was scanned has been answered, so that nobody has to wait for the last answer before pressing it.
(() => {
  "use strict";

  let finishing = false;
  const scan = () => document.querySelector("form[data-scan]");
  const finish = () => document.getElementById("finish-issue").requestSubmit();

  document.addEventListener("keydown", (event) => {
    if (!event.ctrlKey || event.altKey || document.querySelector("dialog[open]")) return;
    const active = document.activeElement;
    if (event.key.toLowerCase() === "z" && !event.shiftKey) {
      const undo = document.querySelector("[data-undo]");
      const typing = active?.matches?.("input, textarea, select") && active.value;
      if (!undo || typing) return;
      event.preventDefault();
      undo.click();
    } else if (event.key === "Enter" && document.getElementById("finish-issue")) {
      event.preventDefault();
      if (scan()?.dataset.scanBusy === "1") finishing = true;
      else finish();
    }
  });
  // On a phone the answer would lie under the bar at the foot of the screen.
  document.addEventListener("htmx:afterRequest", (event) => {
    const answers = document.getElementById("answers");
    if (answers && event.detail.target === answers) answers.scrollIntoView({ block: "nearest" });
  });
  document.addEventListener("kit:scans-answered", () => {
    if (!finishing) return;
    finishing = false;
    // What was refused meanwhile is to be read before the van leaves.
    if (!document.querySelector("#answers .notice--refused")) finish();
  });
})();
