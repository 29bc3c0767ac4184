// Reads a code with the phone's camera: by the browser itself where it can (BarcodeDetector), elsewhere with a decoder of
// QR codes that is fetched at the first press (kit/vendor/jsQR). The button stays hidden where there is no camera to ask.
(() => {
  "use strict";

  const LOOK_MS = 200;
  // Pixels along the longer side: a label at arm's length has its modules, and an old phone still keeps up.
  const LONGEST = 960;
  if (!navigator.mediaDevices?.getUserMedia) return;

  let fetched = null;
  const fetchDecoder = (url) => {
    fetched ??= new Promise((done, failed) => {
      const script = document.createElement("script");
      script.src = url;
      script.addEventListener("load", () => done(window.jsQR));
      script.addEventListener("error", () => { fetched = null; failed(new Error("no decoder")); });
      document.head.append(script);
    });
    return fetched;
  };

  const readsItself = async () => {
    if (!("BarcodeDetector" in window)) return false;
    return (await window.BarcodeDetector.getSupportedFormats().catch(() => [])).includes("qr_code");
  };

  // A function that looks at the picture once and gives what a code in it says, or nothing.
  const readerFor = async (scan, url) => {
    if (await readsItself()) {
      const detector = new window.BarcodeDetector();
      return async (view) => (await detector.detect(view).catch(() => []))[0]?.rawValue;
    }
    const decode = await fetchDecoder(url);
    scan.querySelector("[data-scan-looking]").hidden = false;
    const canvas = document.createElement("canvas");
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    return async (view) => {
      if (!view.videoWidth) return "";
      const scale = Math.min(1, LONGEST / Math.max(view.videoWidth, view.videoHeight));
      canvas.width = Math.round(view.videoWidth * scale);
      canvas.height = Math.round(view.videoHeight * scale);
      pen.drawImage(view, 0, 0, canvas.width, canvas.height);
      const { data } = pen.getImageData(0, 0, canvas.width, canvas.height);
      return decode(data, canvas.width, canvas.height)?.data;
    };
  };

  const stop = (scan, view) => {
    for (const track of view.srcObject?.getTracks() ?? []) track.stop();
    view.srcObject = null;
    view.hidden = true;
    scan.querySelector("[data-scan-looking]").hidden = true;
  };

  const start = async (scan, view, url) => {
    view.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    view.hidden = false;
    await view.play();
    const read = await readerFor(scan, url);
    const look = async () => {
      if (!view.srcObject) return;
      const code = await read(view);
      if (code && view.srcObject) {
        stop(scan, view);
        scan.querySelector('input[name="code"]').value = code;
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
      if (view.srcObject) { stop(scan, view); return; }
      // Refused or absent camera: typing and a scanner still work, so the button simply goes.
      start(scan, view, button.dataset.decoder).catch(() => { stop(scan, view); button.hidden = true; });
    });
  }
})();
