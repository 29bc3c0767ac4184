"""Batch entry: one check of many pieces by scanner and keyboard, recorded with one press, all or nothing.

Single letters in the scan box act on the piece that is marked (the latest, unless the arrow keys chose another):
F fail, D doubt, P pass, X take out. A tag of one letter that the register knows comes before them.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from inspections.actions.batch import BatchPiece, BatchRefused, Shared, record_batch, refuse_method
from inspections.actions.form_checks import BadAnswers
from inspections.batch import Batch, ScanAnswer, add, rows
from inspections.forms.answers import SharedForm
from inspections.judging import Form, FormFault
from inspections.limits import form_of
from inspections.models import Check, Verdict
from kit.models import Item, State
from kit.sentences import said as in_words
from kit.stores import NotAllowed, acting
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk, told
from kit.views.found import scanned

SOURCE = "bench batch"
LETTERS = {"F": Verdict.FAIL, "D": Verdict.DOUBT, "P": Verdict.PASS, "X": None}
LONGEST_NOTE = 300


def _check(number: int) -> Check:
    check = Check.objects.in_force().select_related("kind").filter(pk=number).first()
    if check is None:
        raise Http404(f"no check {number} in force")
    try:
        _form_of(check)
    except FormFault as fault:
        raise Http404(f"the form of {check} cannot be read: {fault}") from fault
    return check


def _form_of(check: Check) -> Form | None:
    return form_of(check) if check.form else None


@at_desk("inspect")
def batch_page(request: HttpRequest, number: int) -> HttpResponse:
    check = _check(number)
    try:
        refuse_method(check)
    except NotAllowed as refusal:
        return told(request, refusal, "bench")
    batch = Batch.of(request.session, check)
    form = SharedForm(form=_form_of(check), initial=_initial(batch), auto_id="id_%s")
    return _page(request, check, batch, form)


def _initial(batch: Batch) -> dict[str, str]:
    return dict(batch.shared)


def _page(request: HttpRequest, check: Check, batch: Batch, form: SharedForm, **more: Any) -> HttpResponse:
    return render(request, "bench/batch.html", {"form": form, **_lists(check, batch), **more})


def _lists(check: Check, batch: Batch, **more: Any) -> dict[str, Any]:
    listed = rows(batch)
    return {
        "check": check,
        "rows": listed,
        "count": len(listed),
        "exceptions": len(batch.exceptions),
        "unsaid": [piece.tag for piece in batch.exceptions if not piece.note],
        "marked": listed[0]["piece"].tag if listed else "",
        **more,
    }


@require_POST
@at_desk("inspect")
def batch_scan(request: HttpRequest, number: int) -> HttpResponse:
    """One scanned tag, answered at once; or a letter that acts on the piece that is marked."""
    check = _check(number)
    batch = Batch.of(request.session, check)
    code = request.POST.get("code", "").strip()
    found = scanned(request, code, jobs=False)
    letter = code.upper() if code.upper() in LETTERS and not any(i.tag == code for i in found.items) else ""
    if letter:
        return _mark(request, check, batch, letter)
    if found.item is None:
        answer = ScanAnswer("refused", found.refusal)
    else:
        may = request.desk.may("inspect", found.item.depot)
        answer = add(batch, found.item, check, may, request.desk.today)
        batch.keep(request.session)
    return _answer(request, check, batch, answer)


def _mark(request: HttpRequest, check: Check, batch: Batch, letter: str) -> HttpResponse:
    piece = batch.named(request.POST.get("marked", "").strip())
    if piece is None:
        return _answer(
            request, check, batch, ScanAnswer("refused", _("Nothing is scanned yet that could be marked."))
        )
    verdict = LETTERS[letter]
    if verdict is None:
        batch.take_out(piece.tag)
        said = _("%(tag)s is taken out of the batch.") % {"tag": piece.tag}
    elif verdict == Verdict.PASS:
        piece.verdict, piece.note, piece.bar = verdict.value, "", ""
        said = _("%(tag)s passes, as the others do.") % {"tag": piece.tag}
    else:
        piece.verdict = verdict.value
        said = _("%(tag)s is marked: %(verdict)s. Write what was found, then Enter.") % {
            "tag": piece.tag,
            "verdict": str(verdict.label).lower(),
        }
    batch.keep(request.session)
    opened = piece.tag if verdict in (Verdict.FAIL, Verdict.DOUBT) else ""
    return _answer(request, check, batch, ScanAnswer("caution" if opened else "done", said), opened=opened)


@require_POST
@at_desk("inspect")
def batch_note(request: HttpRequest, number: int) -> HttpResponse:
    """What was found of a piece that is marked. A tag scanned into the note is a scan, not what was found."""
    check = _check(number)
    batch = Batch.of(request.session, check)
    piece = batch.named(request.POST.get("marked", ""))
    note = request.POST.get("note", "").strip()[:LONGEST_NOTE]
    if note and scanned(request, note, jobs=False).item is not None:
        request.POST = request.POST.copy()
        request.POST["code"] = note
        return batch_scan(request, number)
    if piece is None:
        return _answer(
            request, check, batch, ScanAnswer("refused", _("That piece is no longer in the batch."))
        )
    piece.note, piece.bar = note, ""
    batch.keep(request.session)
    said = _("%(tag)s: %(note)s") % {"tag": piece.tag, "note": note or _("nothing written yet")}
    return _answer(request, check, batch, ScanAnswer("done" if note else "caution", said))


def _answer(
    request: HttpRequest, check: Check, batch: Batch, answer: ScanAnswer, **more: Any
) -> HttpResponse:
    if not request.htmx:
        (messages.success if answer.taken else messages.error)(request, answer.text)
        return redirect("batch", check.pk)
    code = request.POST.get("code", "")[:200]
    return render(
        request, "bench/batch_answer.html", {"answer": answer, "code": code, **_lists(check, batch, **more)}
    )


@require_POST
@at_desk("inspect")
def batch_shared(request: HttpRequest, number: int) -> HttpResponse:
    """Keep what was typed of the shared values, so that a reload does not lose it."""
    check = _check(number)
    batch = Batch.of(request.session, check)
    batch.shared = dict(SharedForm(request.POST, form=_form_of(check)).as_typed())
    batch.keep(request.session)
    return HttpResponse(status=204) if request.htmx else redirect("batch", number)


@require_POST
@at_desk("inspect")
def batch_clear(request: HttpRequest, number: int) -> HttpResponse:
    check = _check(number)
    Batch(check.pk).drop(request.session)
    messages.info(request, _("The batch is emptied. Nothing was recorded."))
    return redirect("batch", check.pk)


@require_POST
@at_desk("inspect")
def batch_record(request: HttpRequest, number: int) -> HttpResponse:
    """All in one act, or nothing; whichever piece bars is named and marked in the list."""
    check = _check(number)
    batch = Batch.of(request.session, check)
    asked_for = _form_of(check)
    form = SharedForm(request.POST, form=asked_for, auto_id="id_%s")
    batch.shared = dict(form.as_typed())
    for piece in batch.pieces:
        piece.bar = ""
    if form.is_valid():
        items = Item.objects.select_related("kind", "depot").in_bulk([piece.item for piece in batch.pieces])
        asked = form.cleaned_data
        shared = Shared(
            asked["done_on"],
            asked["by"],
            asked["certificate"],
            asked["note"],
            form.texts if asked_for else None,
            batch.after_record,
        )
        before = broken_now()
        try:
            _refuse_rights(request, items.values())
            with acting(request.desk.who(SOURCE)) as act:
                pieces = [BatchPiece(items[p.item], p.verdict, p.note) for p in batch.pieces]
                made = record_batch(act, check, pieces, shared)
        except BadAnswers as refusal:
            form.put_faults(refusal.faults)
        except BatchRefused as refusal:
            barring = batch.named(refusal.item.tag)
            if barring is not None:
                barring.bar = str(refusal)
            form.add_error(None, str(refusal))
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            batch.drop(request.session)
            _tell(request, check, made)
            say_what_broke(request, before)
            return redirect("bench")
    batch.keep(request.session)
    return _page(request, check, batch, form)


def _refuse_rights(request: HttpRequest, items: Any) -> None:
    """Roles may have changed since the pieces were scanned."""
    for item in items:
        if not request.desk.may("inspect", item.depot):
            raise BatchRefused(item, _("your roles at its depot do not include inspecting; take it out."))


def _tell(request: HttpRequest, check: Check, made: list[Any]) -> None:
    n = len(made)
    said = ngettext("%(check)s is recorded of %(n)s piece.", "%(check)s is recorded of %(n)s pieces.", n) % {
        "check": capfirst(in_words(check.name)),
        "n": n,
    }
    messages.success(request, said)
    ids = [one.item_id for one in made if one.verdict == Verdict.FAIL]
    aside = (
        Item.objects.filter(pk__in=ids, state=State.QUARANTINED).order_by("tag").values_list("tag", flat=True)
    )
    if aside:
        messages.warning(
            request, _("Set aside: %(tags)s. Tie a defect tag to each.") % {"tags": ", ".join(aside)}
        )
