// The page beside the van: ticks, tests, reports and spares go into the queue at once and to the store when there is signal.
// window.vanPage: enter(piece, what), which gives whether the phone keeps it, for what is scanned (van_scan.js).
(() => {
  "use strict";

  const root = document.querySelector("[data-van]");
  if (!root) return;
  const say = root.dataset;
  const RETRY_MS = 15000;
  const OLD_MS = 12 * 3600000;
  const lang = document.documentElement.lang === "en" ? "en-GB" : document.documentElement.lang || undefined;
  const clock = (moment) => new Date(moment).toLocaleString(lang, { weekday: "short", hour: "2-digit", minute: "2-digit" });
  const queue = window.vanQueue;
  const fromStore = JSON.parse(document.getElementById("van-entries").textContent);
  const words = JSON.parse(document.getElementById("van-words").textContent);

  const unkept = () => { root.querySelector("[data-van-unkept]").hidden = false; };
  if ("serviceWorker" in navigator) {
    queue.keepPages([window.location.href]).then((kept) => { root.querySelector("[data-van-kept]").hidden = !kept; }).catch(() => {
      // Without signal the page came from where it is kept.
      if (navigator.serviceWorker.controller) root.querySelector("[data-van-kept]").hidden = false;
      else unkept();
    });
  } else unkept();

  const age = () => {
    const line = root.querySelector("[data-van-age]");
    const fetched = Date.parse(document.getElementById("no-signal").dataset.fetchedAt);
    const minutes = Math.max(0, Math.round((Date.now() - fetched) / 60000));
    const how = minutes < 60 ? say.textMinutes.replace("{m}", minutes) : say.textHours.replace("{h}", Math.floor(minutes / 60)).replace("{m}", minutes % 60);
    line.textContent = say.textAge.replace("{at}", clock(fetched)).replace("{age}", how);
    line.classList.toggle("van__age--old", Date.now() - fetched > OLD_MS);
  };

  const lineOf = (entry) => {
    const line = document.createElement("li");
    line.className = `van__entry van__entry--${entry.state}`;
    const what = document.createElement("b");
    what.textContent = `${words.what[entry.what]}${entry.spare ? ` (${entry.spare})` : ""}`;
    line.append(what, ` ${clock(entry.said_at)} · ${words.state[entry.state]}${entry.note ? ` · ${entry.note}` : ""}${entry.why ? ` · ${entry.why}` : ""}`);
    return line;
  };

  const draw = async () => {
    const mine = await queue.all();
    const known = new Map(fromStore.map((entry) => [entry.uid, { ...entry, state: entry.taken, job: say.job }]));
    for (const entry of mine) if (entry.job === say.job) known.set(entry.uid, entry);
    const entries = [...known.values()].sort((a, b) => Date.parse(a.said_at) - Date.parse(b.said_at));
    for (const piece of root.querySelectorAll("[data-piece]")) {
      const of = entries.filter((entry) => entry.code === piece.dataset.piece);
      piece.querySelector("[data-piece-entries]").replaceChildren(...of.map(lineOf));
      const seen = of.some((entry) => entry.what === "seen");
      piece.classList.toggle("van__piece--seen", seen);
      piece.querySelector('[data-say="seen"]')?.setAttribute("aria-pressed", String(seen));
      piece.classList.toggle("van__piece--failed", of.some((entry) => entry.what === "failed" || entry.what === "reported"));
    }
    const waiting = mine.filter((entry) => entry.state === "waiting" && entry.by === say.user).length;
    const others = [...new Set(mine.filter((entry) => entry.state === "waiting" && entry.by !== say.user).map((entry) => entry.by))];
    const count = root.querySelector("[data-van-waiting]");
    count.textContent = ` · ${waiting ? say.textWaiting.replace("{n}", waiting) : say.textNone}`;
    root.querySelector("[data-van-send]").disabled = !waiting;
    const of = root.querySelector("[data-van-others]");
    of.hidden = !others.length;
    of.textContent = say.textOthers.replace("{people}", others.join(", "));
    const seen = root.querySelectorAll(".van__piece--seen").length;
    root.querySelector("[data-van-seen]").textContent = say.textSeen.replace("{n}", seen).replace("{m}", root.querySelectorAll("[data-piece]").length);
  };

  const told = (text) => {
    root.querySelector("[data-van-said]").textContent = text;
  };

  const tellClock = (ahead) => {
    const line = root.querySelector("[data-van-clock]");
    const minutes = Math.round(Math.abs(ahead) / 60);
    line.hidden = minutes < 5;
    const text = ahead > 0 ? say.textAhead : say.textBehind;
    line.querySelector("[data-van-clock-text]").textContent = text.replace("{h}", Math.floor(minutes / 60)).replace("{m}", minutes % 60);
  };

  const send = async () => {
    try {
      const done = await queue.send();
      if (done.fault) told(done.fault);
      else if (done.sent) told(say.textSent.replace("{n}", done.sent));
      if (typeof done.ahead === "number") tellClock(done.ahead);
    } catch {
      told(say.textNoAnswer);
    }
    await draw();
  };

  const enter = async (piece, what, note = "", spare = "") => {
    try {
      await queue.keep({ job: say.job, by: say.user, what, code: piece.dataset.piece, note, spare });
    } catch {
      told(say.textUnkept);
      return false;
    }
    told(say.textKept.replace("{what}", words.what[what]).replace("{code}", piece.dataset.piece));
    await draw();
    send();
    return true;
  };

  const dialog = document.getElementById("van-dialog");
  const ask = (piece, what) => {
    dialog.querySelector("h2").textContent = `${words.what[what]}: ${piece.dataset.piece}`;
    const note = dialog.querySelector("textarea");
    note.value = "";
    note.required = what !== "swapped";
    const choose = dialog.querySelector("[data-van-spares]");
    choose.hidden = what !== "swapped";
    const select = choose.querySelector("select");
    select.disabled = choose.hidden;
    select.replaceChildren(...[...root.querySelectorAll("[data-piece][data-kind]")]
      .filter((other) => other !== piece && other.dataset.kind === piece.dataset.kind)
      .map((other) => new Option(`${other.dataset.piece} (${other.dataset.line})`, other.dataset.piece)));
    dialog.querySelector("[data-van-caution]").hidden = what === "swapped";
    dialog.returnValue = "no";
    dialog.addEventListener("close", () => {
      if (dialog.returnValue === "yes") enter(piece, what, note.value.trim(), choose.hidden ? "" : select.value);
    }, { once: true });
    dialog.showModal();
  };

  root.addEventListener("click", (event) => {
    const button = event.target.closest("[data-say]");
    if (!button) return;
    const piece = button.closest("[data-piece]");
    const what = button.dataset.say;
    if (what === "seen" && button.getAttribute("aria-pressed") === "true") return;
    if (what === "seen" || what === "passed") enter(piece, what);
    else ask(piece, what);
  });
  root.querySelector("[data-van-send]").addEventListener("click", send);
  document.addEventListener("van:changed", draw);
  window.addEventListener("online", send);
  window.setInterval(async () => { if ((await queue.waitingOf(say.user)).length) send(); }, RETRY_MS);
  window.setInterval(age, 30000);

  window.vanPage = { enter };
  age();
  draw().then(async () => { if ((await queue.waitingOf(say.user)).length) send(); });
})();
