// Reads a code with the phone's camera where the browser itself can (BarcodeDetector); elsewhere the button stays hidden.
(() => {
  "use strict";

  const LOOK_MS = 200;
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices?.getUserMedia) return;

  const stop = (view) => {
    for (const track of view.srcObject?.getTracks() ?? []) track.stop();
    view.srcObject = null;
    view.hidden = true;
  };

  const start = async (scan, view) => {
    view.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    view.hidden = false;
    await view.play();
    const detector = new window.BarcodeDetector();
    const look = async () => {
      if (!view.srcObject) return;
      const [found] = await detector.detect(view).catch(() => []);
      if (found?.rawValue) {
        stop(view);
        scan.querySelector('input[name="code"]').value = found.rawValue;
        scan.requestSubmit();
        return;
      }
      window.setTimeout(look, LOOK_MS);
    };
    look();
  };

  for (const button of document.querySelectorAll("[data-scan-camera]")) {
    const scan = button.closest("form");
    const view = scan.querySelector("[data-scan-view]");
    button.hidden = false;
    button.addEventListener("click", () => {
      if (view.srcObject) { stop(view); return; }
      // Refused or absent camera: typing and a scanner still work, so the button simply goes.
      start(scan, view).catch(() => { stop(view); button.hidden = true; });
    });
  }
})();
