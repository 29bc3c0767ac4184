// What is scanned beside the van: a piece of the list is ticked as by its button, anything else is refused in large letters.
(() => {
  "use strict";

  const root = document.querySelector("[data-van]");
  const answers = root?.querySelector("[data-van-answer]");
  if (!answers) return;
  const known = window.vanCodes(JSON.parse(document.getElementById("van-codes").textContent));
  const pieces = new Map([...root.querySelectorAll("[data-piece]")].map((piece) => [piece.dataset.piece, piece]));
  const lang = document.documentElement.lang === "en" ? "en-GB" : document.documentElement.lang || undefined;
  const fetched = new Date(document.getElementById("no-signal").dataset.fetchedAt)
    .toLocaleString(lang, { weekday: "short", hour: "2-digit", minute: "2-digit" });
  // Before the phone has written one, the next may be scanned: what is under way counts as ticked.
  const underWay = new Set();

  const isTicked = (piece) => underWay.has(piece) || piece.querySelector('[data-say="seen"]').getAttribute("aria-pressed") === "true";

  const answer = (how, said) => {
    const template = root.querySelector(`template[data-answer="${how}"]`);
    const shown = template.content.cloneNode(true);
    const seen = root.querySelectorAll(".van__piece--seen").length;
    const all = { n: seen, m: pieces.size, at: fetched, ...said };
    const texts = document.createTreeWalker(shown, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) texts.currentNode.data = texts.currentNode.data.replace(/\{(\w+)\}/g, (place, name) => all[name] ?? place);
    answers.replaceChildren(shown);
    answers.scrollIntoView({ block: "nearest" });
    document.dispatchEvent(new CustomEvent("kit:answered", { detail: template.dataset.tone }));
  };

  const tick = async (tag, piece) => {
    underWay.add(piece);
    const kept = await window.vanPage.enter(piece, "seen");
    underWay.delete(piece);
    answer(kept ? "ticked" : "unkept", { tag, line: piece.dataset.line });
  };

  // What failed on this very page is apart from now on, whatever the list said of it when it was fetched.
  const failed = (piece) => (piece.classList.contains("van__piece--failed") ? root.dataset.textFailed : "");

  root.addEventListener("kit:scanned", (event) => {
    const tags = known.named(event.detail);
    if (tags.length > 1) { answer("several", { tag: new Intl.ListFormat(lang, { type: "disjunction" }).format(tags) }); return; }
    const tag = tags[0] ?? known.text(event.detail);
    const piece = tags.length ? pieces.get(tag) : null;
    if (!piece) { answer("not-listed", { tag }); return; }
    const why = piece.dataset.aside || failed(piece);
    if (why) answer("set-aside", { tag, why });
    else if (isTicked(piece)) answer("ticked-before", { tag });
    else tick(tag, piece);
  });
})();
