// What was entered beside the van, kept in this phone until the store has answered for it.
// window.vanQueue: keep(entry), all(), send(), waitingOf(user), keepPages(addresses). Each entry carries a number made here: sent twice, the store
// knows it again. Only the person who made an entry sends it.
(() => {
  "use strict";

  const NAME = "fettlebook-van";
  const BATCH = 10;
  const KEPT_DAYS = 14;

  const opened = new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => { asked.result.createObjectStore("entries", { keyPath: "uid" }); };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });

  const inStore = async (mode, work) => {
    const book = await opened;
    return new Promise((resolve, reject) => {
      const turn = book.transaction("entries", mode);
      const asked = work(turn.objectStore("entries"));
      turn.oncomplete = () => resolve(asked?.result);
      turn.onerror = turn.onabort = () => reject(turn.error);
    });
  };

  const all = async () => (await inStore("readonly", (entries) => entries.getAll())).sort((a, b) => a.turn - b.turn);
  const put = (entry) => inStore("readwrite", (entries) => entries.put(entry));
  const waitingOf = async (user) => (await all()).filter((entry) => entry.state === "waiting" && (!user || entry.by === user));

  const number = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    // randomUUID wants a secure origin; the same by hand where a depot serves plain HTTP.
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const text = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return `${text.slice(0, 8)}-${text.slice(8, 12)}-${text.slice(12, 16)}-${text.slice(16, 20)}-${text.slice(20)}`;
  };

  // Resolves once the phone has written it: only then may the page say that it is kept. `turn` is the order of entering,
  // whatever the phone's clock does meanwhile.
  const keep = async (entry) => {
    const kept = { ...entry, uid: number(), said_at: new Date().toISOString(), state: "waiting", why: "" };
    await inStore("readwrite", (entries) => {
      const asked = entries.getAll();
      asked.onsuccess = () => { entries.put({ ...kept, turn: Math.max(0, ...asked.result.map((one) => one.turn)) + 1 }); };
      return null;
    });
    return kept;
  };

  const tidy = async () => {
    const oldest = Date.now() - KEPT_DAYS * 86400000;
    for (const entry of await all()) {
      if (entry.state !== "waiting" && Date.parse(entry.said_at) < oldest) await inStore("readwrite", (entries) => entries.delete(entry.uid));
    }
  };

  const post = async (desk, entries) => {
    const answer = await fetch("/van/entries", {
      method: "POST",
      credentials: "same-origin",
      headers: { "Content-Type": "application/json", "X-CSRFToken": desk.token },
      body: JSON.stringify({
        device_now: new Date().toISOString(),
        entries: entries.map(({ uid, job, what, code, spare, note, said_at, by }) => ({ uid, job, what, code, spare, note, said_at, by })),
      }),
    });
    const said = await answer.json();
    if (!answer.ok) throw new Error(said.fault ?? `${answer.status}`);
    return said;
  };

  const sendAll = async () => {
    const asked = await fetch("/van/desk", { credentials: "same-origin", cache: "no-store" });
    const desk = await asked.json();
    if (!asked.ok) return { fault: desk.fault, sent: 0 };
    let sent = 0;
    let ahead = null;
    const tried = new Set();
    for (;;) {
      const next = (await waitingOf(desk.user)).filter((entry) => !tried.has(entry.uid)).slice(0, BATCH);
      if (!next.length) break;
      next.forEach((entry) => tried.add(entry.uid));
      const said = await post(desk, next);
      ahead = said.clock_ahead_s;
      for (const one of said.entries) {
        const entry = next.find((other) => other.uid === one.uid);
        if (!entry) continue;
        entry.why = one.why;
        // What the store would not take stays here, so that nothing is lost.
        if (one.taken !== "refused") { entry.state = one.taken; sent += 1; }
        await put(entry);
      }
      document.dispatchEvent(new CustomEvent("van:changed"));
    }
    await tidy();
    return { sent, ahead };
  };

  // Two windows of one phone send one after the other; the store would take each entry once all the same.
  let going = null;
  const send = () => {
    going ??= (navigator.locks ? navigator.locks.request("fettlebook-van-send", sendAll) : sendAll()).finally(() => { going = null; });
    return going;
  };

  // Puts pages where the worker looks for them, whether it has taken this window over yet or not; true if all are there.
  const keepPages = async (addresses) => {
    await navigator.serviceWorker.register("/van/worker.js");
    await navigator.serviceWorker.ready;
    const kept = await caches.open("fettlebook-van-pages");
    const one = async (address) => {
      const answer = await fetch(address, { headers: { Accept: "text/html" }, credentials: "same-origin" });
      if (!answer.ok || answer.redirected) return false;
      await kept.put(address, answer);
      return true;
    };
    return (await Promise.all(addresses.map(one))).every(Boolean);
  };

  window.vanQueue = { keep, all, send, waitingOf, keepPages };
})();
