"""A job's papers: load list as page and PDF, kit list as spreadsheet, issue and return note; defect tags."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import segno
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.utils.text import get_valid_filename
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kit.days import date_format
from kit.models import Deed, Job, Standing
from kit.papers import LoadList, TagSheet, defect_tag_pdf, issue_note_pdf, load_list_pdf, return_note_pdf
from kit.papers.from_store import defect_tag_of, issue_note_of, load_list_of, return_note_of, said_of_pieces
from kit.papers.wording import millimetres, size_range
from kit.sentences import said
from kit.stores import NotAllowed, acting
from kit.stores.ways_out import told_kit_list
from kit.tables.marks import Mark
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, job_in_sight, must
from kit.views.job import ENDED, asked_for
from kit.workbooks.kit_list import kit_list_workbook

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
PDF = "application/pdf"

Paper = TypeVar("Paper")


@require_safe
@at_desk()
def load_list(request: HttpRequest, reference: str) -> HttpResponse:
    """The load list as a page that a browser prints."""
    job = job_in_sight(request, reference)
    try:
        _refuse_ended(job)
    except NotAllowed as refusal:
        return _back(request, job, refusal)
    paper = load_list_of(job, _kit(request, job)[0])
    return render(
        request, "job/load_list.html", {"job": job, **_shown(job, paper), "query": request.GET.urlencode()}
    )


def _shown(job: Job, paper: LoadList) -> dict[str, Any]:
    """The pieces by place, each with the picture of its tag and whether it is out already."""
    out = set(job.reservations.filter(standing=Standing.ISSUED).values_list("item__tag", flat=True))
    places = [
        (
            place or _("No place recorded: ask the stores"),
            [
                {
                    "piece": piece,
                    "loaded": piece.tag in out,
                    "size": size_range(piece.bore_min_mm, piece.bore_max_mm),
                    "runs_out": paper.runs_out(piece),
                    "qr": segno.make_qr(piece.tag, error="m").svg_data_uri(border=4, omitsize=True),
                }
                for piece in pieces
            ],
        )
        for place, pieces in paper.by_place().items()
    ]
    facts = [
        (_("Site"), job.site),
        (_("Depot"), job.depot),
        (_("Load on"), date_format(job.load_on, "D j M Y")),
        (_("Return on"), date_format(job.return_on, "D j M Y")),
        (_("Main"), paper.job.main),
        (_("Bore"), _("%(bore)s mm") % {"bore": millimetres(paper.job.bore_mm)} if paper.job.bore_mm else ""),
        (
            _("Bore on the far side"),
            _("%(bore)s mm") % {"bore": millimetres(paper.job.far_bore_mm)} if paper.job.far_bore_mm else "",
        ),
        (_("Mark of the bases"), job.base_mark),
        (_("Arrangement"), said(str(job.arrangement))),
    ]
    short = paper.pieces_short + paper.counted_short
    mark = Mark("short", _("of %(n)s") % {"n": short}) if short else Mark("in-fettle", word=_("complete"))
    return {
        "paper": paper,
        "places": places,
        "as_of": paper.as_of,
        "facts": [(label, value) for label, value in facts if value],
        "mark": mark,
    }


def _kit(request: HttpRequest, job: Job) -> tuple[Any, Any]:
    _form, as_of, all_depots = asked_for(request)
    return told_kit_list(job, as_of, all_depots=all_depots).kit, as_of


def _refuse_ended(job: Job) -> None:
    if job.state in ENDED:
        raise NotAllowed(
            _("%(job)s is %(state)s: there is nothing to load. Its notes say what went out and came back.")
            % {"job": job, "state": _(job.get_state_display()).lower()}
        )


@require_safe
@at_desk()
def load_list_as_pdf(request: HttpRequest, reference: str) -> HttpResponse:
    def drawn(job: Job) -> LoadList:
        _refuse_ended(job)
        return load_list_of(job, _kit(request, job)[0])

    return _printed(request, reference, "load list", drawn, load_list_pdf)


@require_safe
@at_desk()
def issue_note(request: HttpRequest, reference: str) -> HttpResponse:
    return _printed(request, reference, "issue note", issue_note_of, issue_note_pdf)


@require_safe
@at_desk()
def return_note(request: HttpRequest, reference: str) -> HttpResponse:
    return _printed(request, reference, "return note", return_note_of, return_note_pdf)


def _printed(
    request: HttpRequest,
    reference: str,
    what: str,
    drawn: Callable[[Job], Paper],
    pdf: Callable[[Paper], bytes],
) -> HttpResponse:
    """The paper as PDF; the ledger tells of the printing, and the paper's stamp names that very entry."""
    job = job_in_sight(request, reference)
    if request.method == "HEAD":
        return HttpResponse(content_type=PDF)
    try:
        with acting(request.desk.who("paper")) as act:
            act.tell(
                Deed.PRINTED,
                [job],
                note=f"{what}, revision {job.revision}",
                facts={"paper": what, "revision": job.revision},
            )
            act.flush()
            paper = drawn(job)
    except NotAllowed as refusal:
        return _back(request, job, refusal)
    # Set outside the transaction: others need not wait for the typesetter.
    return _file(pdf(paper), f"{what} {job.reference}.pdf", PDF, inline=True)


@require_safe
@at_desk()
def kit_list_as_workbook(request: HttpRequest, reference: str) -> HttpResponse:
    job = job_in_sight(request, reference)
    must(request, "export", job.depot)
    try:
        _refuse_ended(job)
    except NotAllowed as refusal:
        return _back(request, job, refusal)
    kit, as_of = _kit(request, job)
    return _file(
        kit_list_workbook(kit, said_of_pieces(job, kit)),
        f"kit list {job.reference} {as_of.isoformat()}.xlsx",
        XLSX,
    )


@require_safe
@at_desk()
def defect_tag(request: HttpRequest, tag: str) -> HttpResponse:
    """The tag that is tied to a piece set aside; ?sheet=a4 for a printer that takes no A6."""
    item = item_in_sight(request, tag)
    sheet = TagSheet.A5_ON_A4 if request.GET.get("sheet") == "a4" else TagSheet.A6
    try:
        pdf = defect_tag_pdf(defect_tag_of(item), sheet)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
        return redirect("item", item.tag)
    return _file(pdf, f"defect tag {item.tag}.pdf", PDF, inline=True)


def _back(request: HttpRequest, job: Job, refusal: NotAllowed) -> HttpResponse:
    messages.error(request, str(refusal))
    return redirect("job", job.reference)


def _file(content: bytes, name: str, content_type: str, inline: bool = False) -> HttpResponse:
    """The file under a name that every file system takes. Never kept by a cache: the register moves on."""
    response = HttpResponse(content, content_type=content_type)
    name = get_valid_filename(name.replace("/", "-").replace("\\", "-"))
    response["Content-Disposition"] = content_disposition_header(not inline, name) or ""
    response["Cache-Control"] = "no-store"
    return response
