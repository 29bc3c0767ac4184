"""A list written out as it is seen: the same rows in the same order under the same headings, in three formats.

A short one is written while the person waits; a long one aside, with its progress, to a file of that person.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO, Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kit.long_work import Note, Progress, note_for, note_of, see_to
from kit.views.desk import at_desk
from kit.views.found import must
from kit.views.listing import Listed, Listing, listing_named
from kit.workbooks.table_csv import write_table_csv
from kit.workbooks.table_ods import MIMETYPE as ODS
from kit.workbooks.table_ods import write_table_ods
from kit.workbooks.writing import Column, write_table_workbook

TYPES = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "ods": ODS,
    "csv": "text/csv; charset=utf-8",
}
QUICK_ROWS = 3000
"""A list of more rows is written aside."""
_KEY = re.compile(r"[0-9a-f]{64}")
_TOLD_EACH = 500


def write_list(
    file: IO[bytes],
    kind: str,
    title: str,
    columns: list[Column],
    rows: Iterable[list[object]],
    facts: dict[str, object],
) -> None:
    """Write rows as they come, to an open binary file. A .csv holds the table alone."""
    if kind == "csv":
        write_table_csv(file, columns, rows)
    elif kind == "ods":
        write_table_ods(file, title, columns, rows, facts, facts_title=_("Summary"))
    else:
        write_table_workbook(file, title, columns, rows, facts)


@require_safe
@at_desk("export")
def list_file(request: HttpRequest, name: str, kind: str) -> HttpResponse:
    """The list of the address as a file, or the page on which it is waited for."""
    listing = listing_named(request, name)
    query = request.GET
    if kind not in TYPES:
        raise Http404(kind)
    listed = listing.build(request, query)
    for depot in listed.depots:
        must(request, "export", depot)
    facts = _facts(request, listed)
    if listed.number <= QUICK_ROWS:
        file = TemporaryFile()  # noqa: SIM115  FileResponse closes it
        write_list(file, kind, str(listing.title), listed.columns(), listed.rows(), facts)
        file.seek(0)
        return _handed_out(file, listing, kind)
    note = _note(request, listing, query, kind)
    if note.read()["state"] == "done" and not _file_of(note, kind).exists():
        note.forget()
    noted = see_to(note, _work(listing, listed, kind, note, facts), aside=True)
    return render(
        request,
        "lists/file.html",
        {
            "listing": listing,
            "kind": kind,
            "noted": noted,
            "number": listed.number,
            "back_url": f"{listing.url}?{query.urlencode()}",
            "file_url": reverse("list_file_ready", args=[note.key, name, kind]),
            "progress_url": reverse("list_file_progress", args=[note.key, name, kind]),
        },
    )


@require_safe
@at_desk("export")
def list_file_progress(request: HttpRequest, name: str, kind: str, key: str) -> JsonResponse:
    """How far it is written; at its end the address of the file itself."""
    listing_named(request, name)
    noted = _known_note(request, key).read()
    state = noted["state"] if noted["state"] in ("running", "done") else "failed"
    ready = _("The file is ready.") if state == "done" else noted.get("text", "")
    return JsonResponse(
        {
            "state": state,
            "done": noted.get("done", 0),
            "total": noted.get("total"),
            "text": ready,
            "next": reverse("list_file_ready", args=[key, name, kind]) if state == "done" else None,
        }
    )


@require_safe
@at_desk("export")
def list_file_ready(request: HttpRequest, name: str, kind: str, key: str) -> HttpResponse:
    """The file that was written aside for this person."""
    listing, note = listing_named(request, name), _known_note(request, key)
    path = _file_of(note, kind)
    if kind not in TYPES or note.read()["state"] != "done" or not path.exists():
        raise Http404(key)
    return _handed_out(path.open("rb"), listing, kind)


def _facts(request: HttpRequest, listed: Listed) -> dict[str, object]:
    return {
        _("As of"): listed.table.today,
        _("Depot"): ", ".join(str(depot) for depot in listed.depots),
        _("Narrowed to"): listed.narrowed_to or _("nothing"),
        _("Entries"): listed.number,
        _("Written by"): request.user.get_username(),
        _("Written at"): timezone.localtime(),
    }


def _note(request: HttpRequest, listing: Listing, query: QueryDict, kind: str) -> Note:
    asked = (listing.name, kind, query.urlencode(), translation.get_language())
    depots = sorted(depot.pk for depot in request.desk.depots)
    return note_for(request.user.pk, "list", *asked, request.desk.today, request.desk.depot.pk, depots)


def _known_note(request: HttpRequest, key: str) -> Note:
    if not _KEY.fullmatch(key):
        raise Http404(key)
    return note_of(request.user.pk, key)


def _file_of(note: Note, kind: str) -> Path:
    return note.path.with_suffix(f".{kind}")


def _work(listing: Listing, listed: Listed, kind: str, note: Note, facts: dict[str, object]) -> Any:
    title, columns, language = str(listing.title), listed.columns(), translation.get_language()
    number = listed.number

    def work(progress: Progress) -> dict[str, Any]:
        def told(rows: Iterator[list[object]]) -> Iterator[list[object]]:
            for done, row in enumerate(rows):
                if done % _TOLD_EACH == 0:
                    progress(done, number, _("%(n)s of %(m)s rows") % {"n": done, "m": number})
                yield row

        path = _file_of(note, kind)
        part = path.with_name(f".{path.name}.part")
        with translation.override(language):
            try:
                with part.open("wb") as file:
                    write_list(file, kind, title, columns, told(listed.rows()), facts)
                os.replace(part, path)
            finally:
                part.unlink(missing_ok=True)
        return {"rows": number}

    return work


def _handed_out(file: Any, listing: Listing, kind: str) -> FileResponse:
    name = f"{listing.name}-{timezone.localdate():%Y-%m-%d}.{kind}"
    response = FileResponse(file, as_attachment=True, filename=name, content_type=TYPES[kind])
    response["Cache-Control"] = "no-store"
    return response
