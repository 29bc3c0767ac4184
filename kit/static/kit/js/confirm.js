// Asks before what cannot be undone: data-confirm="question" on a form, a button or an hx- element.
// Also data-confirm-more (a sentence), data-confirm-word (the word on the button), data-confirm-danger.
// Without this script the form is simply sent; the server must hold whatever rule there is.
(() => {
  "use strict";

  const ask = (source, go) => {
    const dialog = document.getElementById("confirm");
    if (!dialog?.showModal) { go(); return; }
    const yes = dialog.querySelector("[data-confirm-yes]");
    const more = dialog.querySelector("[data-confirm-more]");
    yes.dataset.usual ??= yes.textContent;
    dialog.querySelector("[data-confirm-question]").textContent = source.dataset.confirm;
    more.textContent = source.dataset.confirmMore ?? "";
    more.hidden = !more.textContent;
    yes.textContent = source.dataset.confirmWord ?? yes.dataset.usual;
    const danger = "confirmDanger" in source.dataset;
    yes.classList.toggle("button--danger", danger);
    yes.classList.toggle("button--primary", !danger);
    // Escape leaves returnValue as it was, so an earlier "yes" must not linger.
    dialog.returnValue = "no";
    dialog.addEventListener("close", () => { if (dialog.returnValue === "yes") go(); }, { once: true });
    dialog.showModal();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const button = event.submitter;
    const source = [button, form].find((element) => element?.dataset.confirm);
    if (!source) return;
    if (form.dataset.confirmed) { delete form.dataset.confirmed; return; }
    event.preventDefault();
    event.stopImmediatePropagation();
    ask(source, () => {
      form.dataset.confirmed = "yes";
      form.requestSubmit(button ?? undefined);
    });
  }, true);

  document.addEventListener("htmx:confirm", (event) => {
    const source = event.detail.elt;
    if (!source.dataset.confirm || source.matches("form")) return;
    event.preventDefault();
    ask(source, () => event.detail.issueRequest(true));
  });
})();
