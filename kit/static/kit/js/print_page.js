// [data-print] prints the page. The button is hidden in the markup and shown here, since without scripts it could do nothing.
(() => {
  "use strict";

  for (const button of document.querySelectorAll("[data-print]")) button.hidden = false;
  document.addEventListener("click", (event) => { if (event.target.closest?.("[data-print]")) window.print(); });
})();
