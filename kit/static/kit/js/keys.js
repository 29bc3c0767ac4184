// The sheet of keys: Ctrl+/ opens it anywhere, ? where nothing is typed and no scan box is on the page. A scanner types into
// whatever is there, and a code may hold a ?: on pages with a scan box that key belongs to the box (scan.js).
// Switched off, ? stays off on this device. Without this script the sheet is a page like any other.
(() => {
  "use strict";

  const OFF = "kit-keys-off";
  const isOff = () => { try { return localStorage.getItem(OFF) === "1"; } catch { return false; } };
  const takesText = (element) => element?.matches?.("textarea, select, input, [contenteditable]");

  const show = () => {
    for (const button of document.querySelectorAll("[data-keys-switch]")) {
      button.hidden = false;
      button.textContent = isOff() ? button.dataset.off : button.dataset.on;
      button.setAttribute("aria-pressed", String(!isOff()));
    }
  };

  const open = async () => {
    const dialog = document.getElementById("keys");
    if (!dialog?.showModal) return;
    const body = dialog.querySelector("[data-keys-body]");
    if (!body.childElementCount) {
      try {
        const answer = await fetch(`${dialog.dataset.keys}?sheet=1`);
        if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
        body.innerHTML = await answer.text();
      } catch {
        window.location.assign(dialog.dataset.keys);
        return;
      }
    }
    show();
    if (!dialog.open) dialog.showModal();
  };

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
    const anywhere = event.ctrlKey && event.key === "/";
    const plain = event.key === "?" && !event.ctrlKey && !isOff()
      && !takesText(document.activeElement) && !document.querySelector("form[data-scan]");
    if (!anywhere && !plain) return;
    event.preventDefault();
    open();
  });

  document.addEventListener("click", (event) => {
    if (!event.target.closest?.("[data-keys-switch]")) return;
    try { localStorage.setItem(OFF, isOff() ? "0" : "1"); } catch { /* storage switched off: it stays on */ }
    show();
  });
  show();
})();
