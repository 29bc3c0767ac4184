"""The depot's own table of mains: listed, changed with a look at what that moves, withdrawn."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.forms.job import WhyForm
from kit.forms.mains import MATERIALS, MainForm
from kit.models import Job, PipeSize
from kit.papers.wording import millimetres, typed_millimetres
from kit.planning.mains import OwnSize, own_size
from kit.stores import MovedBore, NotAllowed, acting, set_size, withdraw_size
from kit.stores.knowledge import open_jobs, own_sizes, written_of
from kit.stores.mains_foreseen import ChangeTable, ForeseenTable, change_as_seen, foresee_table
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk

SCREEN = "mains screen"


@at_desk()
def mains(request: HttpRequest) -> HttpResponse:
    """Every size of the table with the bore it gives and the open jobs that go by it."""
    own = own_sizes()
    by_row: dict[OwnSize, list[Job]] = {row: [] for row in own}
    for job in open_jobs().order_by("load_on", "reference"):
        if (row := own_size(written_of(job), own)) is not None:
            by_row[row].append(job)
    rows = PipeSize.objects.filter(withdrawn=False).order_by("material", "size")
    context = {
        "rows": [_listed(row, by_row[known]) for row, known in zip(rows, own, strict=True)],
        "withdrawn": PipeSize.objects.filter(withdrawn=True),
        "may_set": request.desk.may("plan"),
        "mine": _mine(request),
    }
    return render(request, "mains/page.html", context)


def _mine(request: HttpRequest) -> set[int]:
    """Depots whose jobs the person may look at: the table is of all depots, so jobs of others are only named."""
    return {depot.pk for depot in request.desk.depots}


def _listed(row: PipeSize, jobs: list[Job]) -> dict[str, Any]:
    inside_mm = row.inside_mm if row.inside_mm is not None else row.outside_mm - 2 * row.wall_mm
    lengths = {"bore_mm": inside_mm, "outside_mm": row.outside_mm, "wall_mm": row.wall_mm}
    said = {name: _("not known") if mm is None else millimetres(mm) for name, mm in lengths.items()}
    return {"row": row, "jobs": jobs, **said}


@at_desk("plan")
def set_main(request: HttpRequest) -> HttpResponse:
    """A size and its figures; what it would move is shown before a press records it."""
    row = PipeSize.objects.filter(pk=_number(request.GET.get("row"))).first()
    if request.method == "POST":
        form = MainForm(request.POST)
        if form.is_valid() and _record(request, _setting(form), form):
            return redirect("mains")
        return _shown(request, form, None)
    if "material" not in request.GET:
        return _shown(request, MainForm(initial=_as_it_is(row)), None)
    form = MainForm(request.GET)
    return _shown(request, form, _looked(request, _setting(form), form) if form.is_valid() else None)


def _shown(request: HttpRequest, form: MainForm, foreseen: ForeseenTable | None) -> HttpResponse:
    context = {"form": form, "foreseen": foreseen, "materials": MATERIALS, "mine": _mine(request)}
    return render(request, "mains/set.html", context)


def _as_it_is(row: PipeSize | None) -> dict[str, Any]:
    return {name: _as_typed(getattr(row, name)) for name in MainForm.base_fields} if row else {}


def _as_typed(value: object) -> object:
    """A length without the zeros that its column adds."""
    return typed_millimetres(value) if isinstance(value, Decimal) else value


def _number(text: str | None) -> int:
    """A key from an address; 0, which is nobody's, for anything else."""
    return int(text[:18]) if text and text.isascii() and text.isdigit() else 0


def _setting(form: MainForm) -> ChangeTable:
    def change(act: Any) -> Sequence[MovedBore]:
        data = form.cleaned_data
        return set_size(act, data["material"], data["size"], **form.figures())[1]

    return change


@at_desk("plan")
def withdraw_main(request: HttpRequest, number: int) -> HttpResponse:
    """What withdrawing a size would move, and why it is withdrawn."""
    row = get_object_or_404(PipeSize, pk=number)
    form = WhyForm(request.POST if request.method == "POST" else None)

    def change(act: Any, why: str = "looked at") -> Sequence[MovedBore]:
        return withdraw_size(act, PipeSize.objects.get(pk=row.pk), why)

    if request.method == "POST" and form.is_valid():
        why = form.cleaned_data["why"]
        if _record(request, lambda act: change(act, why), form):
            return redirect("mains")
    foreseen = None
    try:
        foreseen = foresee_table(request.desk.who(SCREEN), change)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
        return redirect("mains")
    context = {"row": row, "form": form, "foreseen": foreseen, "mine": _mine(request)}
    return render(request, "mains/withdraw.html", context)


def _looked(request: HttpRequest, change: ChangeTable, form: MainForm) -> ForeseenTable | None:
    try:
        return foresee_table(request.desk.who(SCREEN), change)
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return None


def _record(request: HttpRequest, change: ChangeTable, form: Any) -> bool:
    """Make the change as it was shown; False, with the refusal in the form, if it is not made."""
    seen = request.POST.get("seen", "")
    if not seen:
        raise BadRequest(
            _("The page sent something that it does not offer. Load it again and press once more.")
        )
    before = broken_now()
    try:
        with acting(request.desk.who(SCREEN)) as act:
            moved = change_as_seen(act, change, seen)
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return False
    n = len(moved)
    told = ngettext(
        "The table of mains is recorded; the main of %(n)s open job is another by it.",
        "The table of mains is recorded; the mains of %(n)s open jobs are others by it.",
        n,
    )
    messages.success(
        request, told % {"n": n} if n else _("The table of mains is recorded; no open job moves by it.")
    )
    say_what_broke(request, before)
    return True
