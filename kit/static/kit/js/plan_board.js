// The plan board: a bar is moved by pointer or by arrow keys, and what would give is fetched and shown beneath it.
// Nothing is written from here: the form that comes with the answer does that, when somebody presses Move.
(() => {
  "use strict";

  const board = document.querySelector("[data-board]");
  if (!board) return;

  const DAY = 86400000;
  const QUIET_MS = 450;
  const EDGE_PX = 14;
  const says = document.querySelector("[data-board-says]");
  let moved = null; // the bar that stands elsewhere than recorded, at most one
  let by = { load: 0, back: 0 };
  let asking = null;
  let timer = 0;

  const say = (text) => { if (says) says.textContent = text; };
  const fill = (name, values = {}) =>
    Object.entries(values).reduce((text, [key, value]) => text.replace(`{${key}}`, value), board.dataset[name] ?? "");
  const shifted = (iso, days) => new Date(Date.parse(`${iso}T00:00:00Z`) + days * DAY).toISOString().slice(0, 10);
  const read = (iso) => new Date(`${iso}T12:00:00Z`).toLocaleDateString(
    document.documentElement.lang || undefined, { weekday: "short", day: "numeric", month: "short", timeZone: "UTC" });
  const dayWidth = () => board.querySelector(".board__day").getBoundingClientRect().width;
  const length = (bar) => Math.round((Date.parse(bar.dataset.return) - Date.parse(bar.dataset.load)) / DAY);

  const answerOf = (bar) => bar.closest("tr").nextElementSibling?.matches(".board__gives") ? bar.closest("tr").nextElementSibling : null;

  const draw = (bar, pxLoad, pxBack) => {
    bar.style.transform = pxLoad ? `translateX(${pxLoad}px)` : "";
    const wider = pxBack - pxLoad;
    bar.style.width = wider ? `calc(100% + ${wider}px)` : "";
    bar.parentElement.style.zIndex = pxLoad || wider ? "3" : "";
  };

  const putBack = (bar, quietly = false) => {
    window.clearTimeout(timer);
    asking?.abort();
    asking = null;
    draw(bar, 0, 0);
    delete bar.dataset.moved;
    answerOf(bar)?.remove();
    moved = null;
    by = { load: 0, back: 0 };
    if (!quietly) say(fill("undone", { job: bar.dataset.bar }));
  };

  const take = (bar) => {
    if (moved && moved !== bar) putBack(moved, true);
    moved = bar;
  };

  // The kit of a job that is out has been loaded: only its return can move. Nothing is back before it was loaded.
  const bounded = (bar, load, back) => {
    const first = bar.dataset.out ? 0 : load;
    return { load: first, back: Math.max(back, first - length(bar)) };
  };

  const place = (bar, load, back) => {
    take(bar);
    by = bounded(bar, load, back);
    if (!by.load && !by.back) {
      putBack(bar);
      return;
    }
    bar.dataset.moved = "1";
    const width = dayWidth();
    draw(bar, by.load * width, by.back * width);
    say(fill("moved", {
      job: bar.dataset.bar,
      load: read(shifted(bar.dataset.load, by.load)),
      back: read(shifted(bar.dataset.return, by.back)),
    }));
    window.clearTimeout(timer);
    timer = window.setTimeout(() => ask(bar), QUIET_MS);
  };

  const answerRow = (bar) => {
    const there = answerOf(bar);
    if (there) return there.firstElementChild;
    const row = document.createElement("tr");
    row.className = "board__gives";
    const cell = row.insertCell();
    cell.colSpan = board.querySelectorAll(".board__day").length + 1;
    bar.closest("tr").after(row);
    return cell;
  };

  const ask = async (bar, goThere = false) => {
    window.clearTimeout(timer);
    asking?.abort();
    const mine = new AbortController();
    asking = mine;
    const query = new URLSearchParams({
      load_on: shifted(bar.dataset.load, by.load),
      return_on: shifted(bar.dataset.return, by.back),
      next: board.dataset.next,
    });
    const cell = answerRow(bar);
    if (!cell.textContent) cell.textContent = board.dataset.asking;
    try {
      const answer = await fetch(`${bar.dataset.url}?${query}`, { headers: { "HX-Request": "true" }, signal: mine.signal });
      if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
      cell.innerHTML = await answer.text();
      const told = cell.querySelector("[data-gives]");
      say([...told.querySelectorAll("h3, h4, .mark, .notice__text, .gives__sum")].map((part) => part.textContent.replace(/\s+/g, " ").trim()).join(". "));
    } catch (fault) {
      if (fault.name === "AbortError") return;
      cell.textContent = board.dataset.lost;
      say(board.dataset.lost);
    } finally {
      if (asking === mine) asking = null;
    }
    if (goThere) (cell.querySelector("button[type=submit]") ?? cell.querySelector("button"))?.focus();
  };

  board.addEventListener("keydown", (event) => {
    const bar = event.target.closest("[data-bar]");
    if (event.key === "Escape" && moved && (bar === moved || event.target.closest(".board__gives"))) {
      const last = moved;
      putBack(last);
      last.focus();
      event.preventDefault();
      return;
    }
    if (!bar || event.ctrlKey || event.altKey || event.metaKey) return;
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (step) {
      event.preventDefault();
      const from = moved === bar ? by : { load: 0, back: 0 };
      const whole = !event.shiftKey && !bar.dataset.out;
      place(bar, from.load + (whole ? step : 0), from.back + step);
    } else if (event.key === "Enter") {
      event.preventDefault();
      take(bar);
      ask(bar, true);
    }
  });

  board.addEventListener("click", (event) => {
    if (event.target.closest("[data-put-back]") && moved) {
      const last = moved;
      putBack(last);
      last.focus();
      return;
    }
    // A click without a drag, and what assistive programs send for one, ask what gives as the bar stands.
    const bar = event.target.closest("[data-bar]");
    if (bar && !bar.dataset.dragged) {
      take(bar);
      ask(bar, event.detail === 0);
    }
    if (bar) delete bar.dataset.dragged;
  });

  board.addEventListener("pointerdown", (event) => {
    const bar = event.target.closest("[data-bar]");
    if (!bar || event.button !== 0) return;
    const box = bar.getBoundingClientRect();
    const atEnd = box.width > 3 * EDGE_PX && event.clientX > box.right - EDGE_PX;
    const from = moved === bar ? { ...by } : { load: 0, back: 0 };
    const start = event.clientX;
    const width = dayWidth();
    let days = 0;
    bar.setPointerCapture(event.pointerId);
    bar.dataset.held = "1";
    delete bar.dataset.dragged;

    const wish = (moving) => {
      const whole = !atEnd && !bar.dataset.out;
      return bounded(bar, from.load + (whole ? moving : 0), from.back + moving);
    };
    const slide = (move) => {
      days = (move.clientX - start) / width;
      if (Math.abs(move.clientX - start) < 6) return;
      bar.dataset.dragged = "1";
      const now = wish(days);
      draw(bar, now.load * width, now.back * width);
    };
    const end = (up) => {
      bar.removeEventListener("pointermove", slide);
      bar.removeEventListener("pointerup", end);
      bar.removeEventListener("pointercancel", end);
      delete bar.dataset.held;
      if (!bar.dataset.dragged) return;
      if (up.type === "pointercancel") {
        delete bar.dataset.dragged;
        draw(bar, from.load * width, from.back * width);
        return;
      }
      const now = wish(Math.round(days));
      place(bar, now.load, now.back);
    };
    bar.addEventListener("pointermove", slide);
    bar.addEventListener("pointerup", end);
    bar.addEventListener("pointercancel", end);
  });
})();
