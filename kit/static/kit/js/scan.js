// Scan box: a form[data-scan] with one input named "code". Works as a plain form without this script.
//
// With it: the box has the focus on arrival, and whatever a keyboard-wedge scanner types while no other field has the
// focus goes into the box; the same code twice within 1.5 s is taken once, also across a page load. With data-scan-target the
// codes are sent one after another without leaving the page, and kept in line while there is no signal. With data-scan-here
// the page itself answers: it hears each code as kit:scanned.
// The focus is never held: Tab leaves the box as it leaves any other.
(() => {
  "use strict";

  const DOUBLE_MS = 1500;
  const RETRY_MS = 5000;
  const MEMORY = "kit-last-scan";

  const say = (text) => document.dispatchEvent(new CustomEvent("kit:say", { detail: text }));
  const form = () => document.querySelector("form[data-scan]");
  const boxOf = (scan) => scan.querySelector('input[name="code"]');
  const waitingOf = new WeakMap();

  const isDouble = (scan, code) => {
    let before = null;
    try { before = JSON.parse(sessionStorage.getItem(MEMORY)); } catch { /* storage switched off: no memory across pages */ }
    const now = Date.now();
    const double = Boolean(before) && before.where === scan.action && before.code === code && now - before.at < DOUBLE_MS;
    try { sessionStorage.setItem(MEMORY, JSON.stringify({ where: scan.action, code, at: now })); } catch { /* as above */ }
    return double;
  };

  const showDouble = (scan, text) => {
    const line = scan.querySelector("[data-scan-double]");
    if (line) { line.textContent = text; line.hidden = false; }
    say(text);
    document.dispatchEvent(new CustomEvent("kit:doubled"));
  };

  const showWaiting = (scan) => {
    const line = scan.querySelector("[data-scan-waiting]");
    const n = (waitingOf.get(scan)?.codes ?? []).length;
    line.hidden = n === 0 || !waitingOf.get(scan).stuck;
    if (!line.hidden) line.textContent = scan.dataset.textWaiting.replace("{n}", n);
  };

  // Sent from the target, not from the form: htmx would refuse a form whose required box has been emptied for the next code.
  const send = async (scan, values) => {
    const target = document.querySelector(scan.dataset.scanTarget);
    let answered = null;
    const note = (event) => { if (event.detail.elt === target) answered = event.detail.xhr?.status || null; };
    document.addEventListener("htmx:afterRequest", note);
    try {
      await window.htmx.ajax("POST", scan.action, { source: target, target, swap: scan.dataset.scanSwap, values });
    } catch { /* htmx rejects on a fault of the line; answered stays null */ }
    document.removeEventListener("htmx:afterRequest", note);
    return answered;
  };

  const work = async (scan) => {
    const line = waitingOf.get(scan);
    if (line.busy) return;
    line.busy = true;
    while (line.codes.length) {
      const status = await send(scan, line.codes[0]);
      if (status === null) {
        line.stuck = true;
        showWaiting(scan);
        say(scan.querySelector("[data-scan-waiting]").textContent);
        window.setTimeout(() => work(scan), RETRY_MS);
        break;
      }
      const { code } = line.codes.shift();
      line.stuck = false;
      say((status < 400 ? scan.dataset.textSent : scan.dataset.textFailed).replace("{code}", code));
      if (status >= 400) {
        const shown = scan.querySelector("[data-scan-waiting]");
        shown.textContent = scan.dataset.textFailed.replace("{code}", code);
        shown.hidden = false;
      } else showWaiting(scan);
    }
    line.busy = false;
    scan.dataset.scanBusy = line.codes.length ? "1" : "0";
    if (!line.codes.length) document.dispatchEvent(new CustomEvent("kit:scans-answered"));
  };

  document.addEventListener("submit", (event) => {
    const scan = event.target;
    if (!scan.matches("form[data-scan]")) return;
    const box = boxOf(scan);
    const code = box.value.trim();
    if (!code) { event.preventDefault(); box.value = ""; box.focus(); return; }
    if (isDouble(scan, code)) {
      event.preventDefault();
      box.value = "";
      box.focus();
      showDouble(scan, scan.dataset.textDouble.replace("{code}", code));
      return;
    }
    box.value = code;
    const double = scan.querySelector("[data-scan-double]");
    if (double) double.hidden = true;
    const here = "scanHere" in scan.dataset;
    if (!here && (!scan.dataset.scanTarget || !window.htmx)) return;
    event.preventDefault();
    const values = Object.fromEntries(new FormData(scan));
    box.value = "";
    box.focus();
    const last = scan.querySelector("[data-scan-last]");
    last.querySelector(".code").textContent = code;
    last.hidden = false;
    if (here) { scan.dispatchEvent(new CustomEvent("kit:scanned", { detail: code, bubbles: true })); return; }
    if (!waitingOf.has(scan)) waitingOf.set(scan, { codes: [], busy: false, stuck: false });
    waitingOf.get(scan).codes.push(values);
    scan.dataset.scanBusy = "1";
    work(scan);
  });

  const nothingElseHasFocus = () => {
    const active = document.activeElement;
    return !active || active === document.body || active === document.documentElement || active.id === "content";
  };

  // What takes text by itself keeps its keys. A button or link does not: a scanner's Enter would press it.
  const takesText = (element) =>
    element.matches?.('textarea, select, [contenteditable], input:not([type="checkbox"], [type="radio"], [type="button"], [type="submit"], [type="file"])');

  // A wedge scanner types into whatever has the focus: its first key moves the focus to the box, and the key lands there.
  document.addEventListener("keydown", (event) => {
    const scan = form();
    if (!scan || event.ctrlKey || event.altKey || event.metaKey || event.key.length !== 1 || event.key === " ") return;
    if (document.querySelector("dialog[open]") || takesText(document.activeElement ?? document.body)) return;
    boxOf(scan).focus();
  });

  document.addEventListener("htmx:afterSettle", () => {
    const scan = form();
    if (scan && nothingElseHasFocus() && !document.querySelector("dialog[open]")) boxOf(scan).focus();
  });
  window.addEventListener("online", () => { const scan = form(); if (scan && waitingOf.has(scan)) work(scan); });
  window.addEventListener("beforeunload", (event) => {
    const scan = form();
    if (scan && waitingOf.get(scan)?.codes.length) event.preventDefault();
  });

  // Where something obvious may be done with what was just scanned, Enter does that; the next scan finds the box all the same.
  const scan = form();
  const first = document.querySelector("[data-first]");
  if (first) first.focus();
  else if (scan && nothingElseHasFocus()) boxOf(scan).focus();
})();
