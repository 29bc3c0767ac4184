// Batch entry without a mouse: arrow keys in the scan box mark a piece of the list (the latest is marked by itself), letters
// typed into the box act on it, Ctrl+Enter records all. The list is swapped by htmx; the mark is set anew each time.
(() => {
  "use strict";

  const box = document.getElementById("scan-code");
  const scan = box.closest("form");
  const hidden = document.createElement("input");
  hidden.type = "hidden";
  hidden.name = "marked";
  scan.append(hidden);

  const say = (text) => document.dispatchEvent(new CustomEvent("kit:say", { detail: text }));
  const pieces = () => [...document.querySelectorAll("[data-batch-tag]")];

  const mark = (piece, aloud) => {
    for (const one of pieces()) one.classList.toggle("batch__piece--marked", one === piece);
    hidden.value = piece?.dataset.batchTag ?? "";
    if (!piece || !aloud) return;
    piece.scrollIntoView({ block: "nearest" });
    say(piece.dataset.batchTag);
  };

  box.addEventListener("keydown", (event) => {
    if (box.value || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) return;
    const all = pieces();
    const at = all.findIndex((one) => one.classList.contains("batch__piece--marked"));
    event.preventDefault();
    mark(all[Math.min(all.length - 1, Math.max(0, at + (event.key === "ArrowDown" ? 1 : -1)))], true);
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.ctrlKey) return;
    event.preventDefault();
    document.querySelector("[data-batch-record]").click();
  });

  // htmx must not send the shared values in place of recording them: that form is submitted as a plain one.
  document.addEventListener("htmx:oobAfterSwap", () => mark(pieces()[0], false));
  mark(pieces()[0], false);
})();
