// Bulk choice in tables: "choose all on this page", the whole list, a run of rows with Shift, and the live count of what is chosen.
(() => {
  "use strict";

  let last = null;

  const boxes = (name) => [...document.querySelectorAll(`input[type="checkbox"][name="${CSS.escape(name)}"]`)];

  const refresh = () => {
    for (const label of document.querySelectorAll("[data-choose-all]")) {
      const all = boxes(label.dataset.chooseAll);
      const chosen = all.filter((box) => box.checked).length;
      const head = label.querySelector("input");
      label.hidden = all.length === 0;
      head.checked = chosen > 0 && chosen === all.length;
      head.indeterminate = chosen > 0 && chosen < all.length;
    }
    for (const count of document.querySelectorAll("[data-chosen-count]")) {
      const all = boxes(count.dataset.chosenCount);
      const chosen = all.filter((box) => box.checked).length;
      if (document.querySelector("[data-choose-whole]:checked")) { count.textContent = count.dataset.wholeText; continue; }
      count.textContent = (count.dataset.text ?? "{n} / {m}").replace("{n}", chosen).replace("{m}", all.length);
    }
  };

  document.addEventListener("change", (event) => {
    const box = event.target;
    const head = box.closest?.("[data-choose-all]");
    if (head) for (const one of boxes(head.dataset.chooseAll)) one.checked = box.checked;
    refresh();
  });

  document.addEventListener("click", (event) => {
    const box = event.target;
    if (!(box instanceof HTMLInputElement) || box.type !== "checkbox" || box.closest("[data-choose-all]")) return;
    if (event.shiftKey && last?.isConnected && last.name === box.name && last !== box) {
      const all = boxes(box.name);
      const [from, to] = [all.indexOf(last), all.indexOf(box)].sort((a, b) => a - b);
      for (const one of all.slice(from, to + 1)) one.checked = box.checked;
      refresh();
    }
    last = box;
  });

  document.addEventListener("htmx:afterSettle", refresh);
  // A page restored from the history keeps its ticks without any change event.
  window.addEventListener("pageshow", refresh);
  refresh();
})();
