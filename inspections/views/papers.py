"""The paper of one record."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from inspections.papers import bench_record_of
from inspections.views.one_record import record_in_sight
from kit.papers.bench_record import bench_record_pdf
from kit.views.desk import at_desk


@require_safe
@at_desk()
def test_record(request: HttpRequest, number: int) -> HttpResponse:
    """The test record as PDF, to be shown by the browser and printed."""
    record = record_in_sight(request, number)
    name = f"test record {record.pk} {record.item.tag}.pdf"
    response = HttpResponse(bench_record_pdf(bench_record_of(record)), content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(False, name)
    response["Cache-Control"] = "no-store"
    return response
