// Clocks of hold tests. The server says how many seconds are left when it sends the page; from then on the browser's own
// steady clock counts, so that neither a wrong phone clock nor a clock change matters. Done is told in large words, by a
// sound (once the page has been touched, as browsers ask) and by the phone shaking.
(() => {
  "use strict";

  const slots = [...document.querySelectorAll("[data-hold-left]")];
  const began = performance.now();
  const TICK_MS = 250;
  const TONES = [660, 880, 660, 880];
  let sound = null;

  const say = (text) => document.dispatchEvent(new CustomEvent("kit:say", { detail: text }));

  // A sound needs a key or a finger first; the context is made then and only then.
  const allow = () => {
    sound ??= "AudioContext" in window ? new AudioContext() : null;
    if (sound?.state === "suspended") sound.resume().catch(() => { /* no sound: the words stand on the screen */ });
  };
  for (const kind of ["keydown", "pointerdown"]) document.addEventListener(kind, allow, { passive: true });

  const ring = () => {
    if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([400, 150, 400]);
    if (sound?.state !== "running") return;
    TONES.forEach((pitch, n) => {
      const tone = sound.createOscillator();
      const loud = sound.createGain();
      tone.frequency.value = pitch;
      loud.gain.value = 0.25;
      tone.connect(loud).connect(sound.destination);
      tone.start(sound.currentTime + n * 0.3);
      tone.stop(sound.currentTime + n * 0.3 + 0.25);
    });
  };

  const left = (slot) => Math.max(0, Math.ceil(Number(slot.dataset.holdLeft) - (performance.now() - began) / 1000));
  const field = (slot) => slot.querySelector("[name=end_pressure]");

  // The only bag whose time is up gets the focus, unless something is being typed.
  const offer = () => {
    const up = slots.filter((slot) => left(slot) === 0);
    const active = document.activeElement;
    const free = !active || active === document.body || active.id === "content" || (active.id === "scan-code" && !active.value);
    if (up.length === 1 && free) field(up[0]).focus();
  };

  const show = (slot, seconds) => {
    const m = Math.floor(seconds / 60);
    const s = String(seconds % 60).padStart(2, "0");
    slot.querySelector("[data-hold-digits]").textContent = `${m}:${s}`;
    // Words change only at whole minutes and at the end: a timer that spoke every second would never be heard out.
    const words = slot.querySelector("[data-hold-words]");
    const text = seconds === 0 ? slot.dataset.textDone : slot.dataset.textLeft.replace("{m}", m).replace("{s}", s);
    if (words.textContent !== text && (seconds === 0 || seconds % 60 === 0 || !slot.dataset.counting)) words.textContent = text;
    slot.dataset.counting = "yes";
    slot.classList.toggle("slot--up", seconds === 0);
  };

  const tick = () => {
    for (const slot of slots) {
      const seconds = left(slot);
      show(slot, seconds);
      if (seconds > 0) slot.dataset.running = "yes";
      else if (slot.dataset.running) {
        delete slot.dataset.running;
        ring();
        say(slot.dataset.textSay.replace("{tag}", slot.dataset.holdTag));
        offer();
      }
    }
  };

  const first = document.querySelector("[data-first]");
  if (first) { first.focus(); first.select(); } else offer();
  // What a finger or a Tab lands on is replaced by what is typed, not added to.
  document.addEventListener("focusin", (event) => { if (event.target.matches?.("[data-reading]")) event.target.select(); });

  if (!slots.length) return;
  tick();
  window.setInterval(tick, TICK_MS);
  // A page from the browser's own memory counts from the wrong moment: fetch it anew.
  window.addEventListener("pageshow", (event) => { if (event.persisted) window.location.reload(); });
})();
