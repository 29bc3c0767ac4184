"""The papers of the inspections: one record, the passport of an item, the evidence of a job, the bench sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header
from django.utils.text import get_valid_filename
from django.views.decorators.http import require_safe

from inspections.bench_list import bench_list
from inspections.bench_sheet import bench_sheet_of
from inspections.evidence_sheet import evidence_of
from inspections.forms.bench_filter import BenchFilter
from inspections.papers import bench_record_of
from inspections.passport import passport_of
from inspections.views.one_record import record_in_sight
from inspections.views.panels import BENCH_DAYS
from kit.models import Deed
from kit.papers.bench_record import bench_record_pdf
from kit.papers.bench_sheet import bench_sheet_pdf
from kit.papers.dossier import Dossier, dossier_pdf, in_language
from kit.stores import NotAllowed, acting
from kit.views.desk import at_desk, told
from kit.views.found import item_in_sight, job_in_sight

PDF = "application/pdf"


@require_safe
@at_desk()
def test_record(request: HttpRequest, number: int) -> HttpResponse:
    """The test record as PDF, to be shown by the browser and printed."""
    record = record_in_sight(request, number)
    return _shown(bench_record_pdf(bench_record_of(record)), f"test record {record.pk} {record.item.tag}.pdf")


@require_safe
@at_desk()
def passport(request: HttpRequest, tag: str) -> HttpResponse:
    """The item's whole story as PDF; that it was printed becomes part of the story."""
    item = item_in_sight(request, tag)
    if request.method == "HEAD":
        return HttpResponse(content_type=PDF)

    def drawn() -> Dossier:
        return passport_of(item, request.desk.today)

    return printed(request, [item], "item passport", item.tag, drawn)


@require_safe
@at_desk()
def evidence(request: HttpRequest, reference: str) -> HttpResponse:
    """The evidence sheet of a job as PDF."""
    job = job_in_sight(request, reference)
    if request.method == "HEAD":
        return HttpResponse(content_type=PDF)
    try:
        return printed(request, [job], "evidence sheet", job.reference, lambda: evidence_of(job))
    except NotAllowed as refusal:
        return told(request, refusal, "job", job.reference)


@require_safe
@at_desk("inspect")
def bench_sheet(request: HttpRequest) -> HttpResponse:
    """What the bench list shows, narrowed as it is there, as PDF to write readings on."""
    if request.method == "HEAD":
        return HttpResponse(content_type=PDF)
    today, depot = request.desk.today, request.desk.depot
    listed = bench_list(depot.pk, today, BENCH_DAYS)
    form = BenchFilter(request.GET or None, entries=[entry for entry, _load in listed])
    try:
        with acting(request.desk.who("paper")) as act:
            act.tell(Deed.PRINTED, [depot], note="bench sheet", facts={"paper": "bench sheet"})
            act.flush()
            sheet = bench_sheet_of(form.narrowed(listed), depot, today)
    except NotAllowed as refusal:
        return told(request, refusal, "bench")
    return _shown(bench_sheet_pdf(sheet), f"bench sheet {depot.code} {today.isoformat()}.pdf")


def printed(
    request: HttpRequest, subjects: Sequence[Any], what: str, name: str, drawn: Callable[[], Dossier]
) -> HttpResponse:
    """The paper, and the entry that tells of its printing: its stamp names that very entry."""
    with acting(request.desk.who("paper")) as act:
        act.tell(Deed.PRINTED, subjects, note=what, facts={"paper": what})
        act.flush()
        paper = drawn()
    # Set outside the transaction: others need not wait for the typesetter.
    return _shown(dossier_pdf(in_language(paper)), f"{what} {name}.pdf")


def _shown(pdf: bytes, name: str) -> HttpResponse:
    """Shown by the browser under a name that every file system takes; never kept by a cache."""
    response = HttpResponse(pdf, content_type=PDF)
    name = get_valid_filename(name.replace("/", "-").replace("\\", "-"))
    response["Content-Disposition"] = content_disposition_header(False, name) or ""
    response["Cache-Control"] = "no-store"
    return response
