"""One quarantine case: why, who, when, the chain that was used with it, what is to be considered, and its story."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.utils.text import get_valid_filename
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from inspections.actions.case_work import add_note, consider, leave_rest, look_at, require_retest
from inspections.actions.release import bars_to_release, retests_due
from inspections.case_list import age_days, band_of
from inspections.case_papers import disposal_note_of
from inspections.case_story import case_story
from inspections.forms.cases import NoteForm, NoticeForm, RestForm, RetestForm
from inspections.models import CaseCompanion, Looked, QuarantineCase
from inspections.notices import notices_for
from inspections.tables.quarantine import case_mark
from inspections.views.files import files_of
from kit.models import Custody
from kit.papers.disposal_note import disposal_note_pdf
from kit.stores import Act, NotAllowed, acting
from kit.tables.marks import mark_of
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk, told
from kit.views.found import item_in_sight, items_in_sight, must

SOURCE = "quarantine screen"
OUTCOMES = {
    "used": gettext_lazy("came back used"),
    "unused": gettext_lazy("came back unused"),
    "damaged": gettext_lazy("came back damaged"),
    "missing": gettext_lazy("did not come back"),
    "": gettext_lazy("still out"),
}


@dataclass(frozen=True)
class Work:
    """One sort of work on a case: who may (see kit.roles), what it asks, what it does, what is said then."""

    action: str
    form: type[forms.Form]
    do: Callable[[Act, QuarantineCase, Mapping[str, Any], str], object]
    done: Any


WORK = {
    "note": Work(
        "quarantine",
        NoteForm,
        lambda act, case, data, about: add_note(act, case, data["kind"], data["text"]),
        gettext_lazy("The note is in the case."),
    ),
    "notice": Work(
        "release",
        NoticeForm,
        lambda act, case, data, about: consider(act, case, about, data["text"]),
        gettext_lazy("What you decided is in the case."),
    ),
    "rest": Work(
        "quarantine",
        RestForm,
        lambda act, case, data, about: leave_rest(act, case, data["text"]),
        gettext_lazy("All of them were looked at and stay in use."),
    ),
    "retest": Work(
        "release",
        RetestForm,
        lambda act, case, data, about: require_retest(act, case, about == "yes", data["text"]),
        gettext_lazy("What a release asks for is in the case."),
    ),
}


@at_desk()
def case(request: HttpRequest, number: int) -> HttpResponse:
    """The page of a case. What is sent says in the address which work it is; a refusal keeps what was typed."""
    shown = _case_in_sight(request, number)
    sent: dict[str, forms.Form] = {}
    if request.method == "POST":
        do, about = request.GET.get("do", ""), request.GET.get("about", "")
        if do == "look":
            return _look(request, shown)
        if do not in WORK:
            raise Http404(do)
        work = WORK[do]
        must(request, work.action, shown.item.depot)
        form = work.form(request.POST, prefix=_prefix(do, about))
        if form.is_valid():
            try:
                with acting(request.desk.who(SOURCE)) as act:
                    work.do(act, shown, form.cleaned_data, about)
            except NotAllowed as refusal:
                if do == "retest" and not shown.is_open:
                    return told(request, refusal, "case", shown.pk)  # its form is no longer on the page
                form.add_error("text", str(refusal))
            else:
                messages.success(request, work.done)
                return redirect("case", shown.pk)
        sent[_prefix(do, about)] = form
    return render(request, "quarantine/case.html", _context(request, shown, sent))


def _case_in_sight(request: HttpRequest, number: int) -> QuarantineCase:
    """The case of that number of an item at a depot of the person, or 404."""
    rows = QuarantineCase.objects.select_related("item__kind", "item__depot", "item__place", "job")
    found = rows.filter(pk=number, item__in=items_in_sight(request)).first()
    if found is None:
        raise Http404(f"no case {number} in sight")
    return found


def _look(request: HttpRequest, shown: QuarantineCase) -> HttpResponse:
    """One press: a companion was looked at and stays in use, or is set aside as well."""
    must(request, "quarantine", shown.item.depot)
    pk = request.POST.get("companion", "")
    companion = shown.companions.filter(pk=pk).first() if pk.isdecimal() else None
    if companion is None:
        raise Http404(f"no companion {pk} in case {shown.pk}")
    before = broken_now()
    try:
        with acting(request.desk.who(SOURCE)) as act:
            row = look_at(act, companion, request.POST.get("looked", ""), request.POST.get("text", ""))
    except NotAllowed as refusal:
        return told(request, refusal, "case", shown.pk)
    if row.looked == Looked.SET_ASIDE:
        messages.warning(request, _("%(tag)s is set aside. Tie a defect tag to it.") % {"tag": row.item.tag})
        say_what_broke(request, before)
    else:
        messages.success(request, _("%(tag)s was looked at and stays in use.") % {"tag": row.item.tag})
    return redirect("case", shown.pk)


def _prefix(do: str, about: str = "") -> str:
    return f"{do}-{about}" if do == "notice" else do


def _context(request: HttpRequest, shown: QuarantineCase, sent: dict[str, forms.Form]) -> dict[str, Any]:
    item, desk = shown.item, request.desk
    age = age_days(shown, desk.today)
    may_release = desk.may("release", item.depot)

    def form(do: str, about: str = "") -> forms.Form:
        prefix = _prefix(do, about)
        return sent.get(prefix) or WORK[do].form(prefix=prefix)

    noted: dict[str, list[Any]] = {}
    for note in shown.notes.all():
        noted.setdefault(note.about, []).append(note)
    bars = bars_to_release(item, request.user.get_username()) if shown.is_open else []
    return {
        "case": shown,
        "item": item,
        "mark": case_mark(shown),
        "age": age,
        "band": band_of(age) if shown.is_open else None,
        "companions": _companions(shown, desk.today),
        "rest_form": form("rest"),
        "notices": [
            (notice, noted.get(notice.key, []), form("notice", notice.key)) for notice in notices_for(shown)
        ],
        "note_form": form("note"),
        "retest_form": form("retest"),
        "retests": retests_due(shown) if shown.is_open else [],
        "bars": bars,
        "may_investigate": desk.may("quarantine", item.depot),
        "may_release": may_release,
        "may_withdraw": item.custody == Custody.STORE and desk.may("withdraw", item.depot),
        "story": case_story(shown),
        **files_of(request, item, case=shown),
    }


def _companions(shown: QuarantineCase, today: Any) -> list[dict[str, Any]]:
    """The companions, those not looked at first, each with how it stands and what became of it on the job."""
    rows = list(shown.companions.select_related("item__kind", "item__depot", "item__transit_to", "job"))
    outcomes: dict[int, Any] = {}
    if shown.job is not None:
        back = shown.job.reservations.filter(item__in=[row.item_id for row in rows], issued_on__isnull=False)
        outcomes = dict(back.order_by("pk").values_list("item_id", "outcome"))
    return [
        {"row": row, "mark": mark_of(row.item, today), "how": _how(row, outcomes)}
        for row in sorted(rows, key=lambda row: (bool(row.looked), row.item.tag))
    ]


def _how(row: CaseCompanion, outcomes: Mapping[int, str]) -> Any:
    if row.job_id is None:
        return _("the gauge of the test")
    return OUTCOMES.get(outcomes.get(row.item_id, ""), "")


@require_safe
@at_desk()
def disposal_note(request: HttpRequest, tag: str) -> HttpResponse:
    """The disposal note of a withdrawn item as PDF, to be signed and filed."""
    item = item_in_sight(request, tag)
    try:
        pdf = disposal_note_pdf(disposal_note_of(item))
    except NotAllowed as refusal:
        return told(request, refusal, "item", item.tag)
    name = get_valid_filename(f"disposal note {item.tag}.pdf".replace("/", "-"))
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(False, name)
    response["Cache-Control"] = "no-store"
    return response
