// A tone for each answer to a scan: two short rising notes for done, one long low one for refused, one short for a note,
// two even ones where something is to be settled.
// Never the only signal: the same is on the page in words. It can be switched off, and stays off on this device.
(() => {
  "use strict";

  const OFF = "kit-sound-off";
  const TONES = { done: [[880, 0, 0.08], [1320, 0.1, 0.1]], refused: [[196, 0, 0.45]], note: [[523, 0, 0.08]], caution: [[330, 0, 0.15], [330, 0.2, 0.15]] };
  let sound = null;

  const isOff = () => { try { return localStorage.getItem(OFF) === "1"; } catch { return false; } };

  const play = (kind) => {
    const made = { kind, heard: false };
    if (!isOff() && window.AudioContext) {
      try {
        sound ??= new AudioContext();
        if (sound.state === "suspended") sound.resume().catch(() => {});
        for (const [hertz, after, seconds] of TONES[kind]) {
          const tone = sound.createOscillator();
          const loud = sound.createGain();
          tone.type = kind === "refused" ? "square" : "sine";
          tone.frequency.value = hertz;
          loud.gain.value = 0.15;
          tone.connect(loud).connect(sound.destination);
          tone.start(sound.currentTime + after);
          tone.stop(sound.currentTime + after + seconds);
        }
        made.heard = true;
      } catch { /* no loudspeaker: the page says it in words */ }
    }
    document.dispatchEvent(new CustomEvent("kit:tone", { detail: made }));
  };

  document.addEventListener("htmx:afterRequest", (event) => {
    const scan = document.querySelector("form[data-scan][data-scan-target]");
    if (!scan || event.detail.target !== document.querySelector(scan.dataset.scanTarget) || !event.detail.successful) return;
    const kind = Object.keys(TONES).find((one) => event.detail.target.querySelector(`.notice--${one}`));
    if (kind) play(kind);
  });
  // Where each answer is a page of its own (taking back), the page sounds as it opens; of several answers the gravest.
  if (document.querySelector("[data-sounding]")) {
    const kind = ["refused", "caution", "done", "note"].find((one) => document.querySelector(`#messages .notice--${one}, form > .notice--${one}[role="alert"]`));
    if (kind) play(kind);
  }
  document.addEventListener("kit:doubled", () => play("note"));
  document.addEventListener("kit:answered", (event) => play(event.detail));

  const button = document.querySelector("[data-sound]");
  if (!button) return;
  const show = () => { button.textContent = isOff() ? button.dataset.off : button.dataset.on; };
  button.addEventListener("click", () => {
    try { localStorage.setItem(OFF, isOff() ? "0" : "1"); } catch { /* storage switched off: sound stays on */ }
    show();
    if (!isOff()) play("note");
  });
  button.hidden = false;
  show();
})();
