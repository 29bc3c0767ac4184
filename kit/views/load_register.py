"""Loading a register in the browser: hand a file in, see what it would do, then load exactly that file."""

from __future__ import annotations

import logging
import threading
import time
from collections import Counter
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import BadRequest
from django.db import connections
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kit.forms.load_register import LoadForm
from kit.models import Depot
from kit.roles import depots_of
from kit.sentences import said
from kit.stores import Who
from kit.views.desk import at_desk
from kit.workbooks.depots_touched import depots_touched
from kit.workbooks.faults import Fault, Faults, RegisterFileError
from kit.workbooks.loading import LoadReport
from kit.workbooks.loading import load_register as load
from kit.workbooks.uploads import Upload, find, keep
from kit.workbooks.writing import write_error_workbook

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
# A smaller file (a few hundred rows) is done within the request. A larger one goes on behind a progress bar.
IN_REQUEST_BYTES = 30_000
NOTED_EVERY_SECONDS = 0.5
MOST_SHOWN = 200
ROWS_KEPT = 2_000

log = logging.getLogger(__name__)


def _home(request: HttpRequest) -> Path:
    return Path(settings.MEDIA_ROOT) / "registers" / str(request.user.pk)


def _found(request: HttpRequest, sha256: str) -> Upload:
    upload = find(_home(request), sha256)
    if upload is None:
        raise Http404("no such upload of this person")
    return upload


@at_desk("load register")
def load_register(request: HttpRequest) -> HttpResponse:
    """Hand a file in."""
    form = LoadForm(request.POST, request.FILES) if request.method == "POST" else LoadForm()
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        upload = keep(_home(request), Path(file.name).name, file.chunks())
        if upload.work()["state"] == "new":
            _start(request, upload, dry_run=True)
        return redirect("load_register_file", upload.sha256)
    return render(request, "load/page.html", {"form": form})


@at_desk("load register")
def load_register_file(request: HttpRequest, sha256: str) -> HttpResponse:
    """What the file would do, or has done; one press loads it, another gives it up."""
    upload = _found(request, sha256)
    work = upload.work()
    if request.method == "POST":
        return _press(request, upload, work)
    if work["state"] == "running":
        return render(request, "load/running.html", {"upload": upload, "work": work})
    return render(request, "load/preview.html", {"upload": upload, "work": work, **_shown(upload, work)})


@require_safe
@at_desk("load register")
def load_register_progress(request: HttpRequest, sha256: str) -> JsonResponse:
    upload = _found(request, sha256)
    work = upload.work()
    running = work["state"] == "running"
    return JsonResponse(
        {
            "state": "running" if running else "done" if work["state"] == "done" else "failed",
            "done": work.get("done", 0),
            "total": work.get("total"),
            "text": said(work.get("text", "")),
            "next": None if running else reverse("load_register_file", args=[upload.sha256]),
        }
    )


@require_safe
@at_desk("load register")
def load_register_faults(request: HttpRequest, sha256: str) -> HttpResponse:
    """The faults and warnings as a spreadsheet, to mend the file by."""
    upload = _found(request, sha256)
    report = upload.work().get("report") or {}
    faults, warnings = (
        Faults(Fault(**each) for each in report.get(what, [])) for what in ("faults", "warnings")
    )
    facts = {_("file"): upload.name, "SHA-256": upload.sha256, _("as of"): request.desk.today}
    response = HttpResponse(write_error_workbook(faults, warnings, facts), content_type=XLSX)
    response["Content-Disposition"] = 'attachment; filename="faults.xlsx"'
    response["Cache-Control"] = "no-store"
    return response


def _press(request: HttpRequest, upload: Upload, work: dict[str, Any]) -> HttpResponse:
    do = request.POST.get("do")
    if do == "discard":
        upload.discard()
        messages.info(request, _("%(name)s is given up. Nothing was loaded.") % {"name": upload.name})
        return redirect("load_register")
    if do != "load":
        raise BadRequest(
            _("The page sent something that it does not offer. Load it again and press once more.")
        )
    if not _may_be_loaded(work):
        messages.error(request, _("This file cannot be loaded as it stands: see below, or hand it in again."))
    elif not upload.intact():
        upload.discard()
        messages.error(request, _("The file that was shown is not there any more: hand it in again."))
        return redirect("load_register")
    else:
        _start(request, upload, dry_run=False)
    return redirect("load_register_file", upload.sha256)


def _may_be_loaded(work: dict[str, Any]) -> bool:
    report = work.get("report") or {}
    shown = work["state"] == "done" and work.get("step") == "preview"
    return bool(shown and not report.get("faults") and (report.get("new") or report.get("changed")))


def _start(request: HttpRequest, upload: Upload, dry_run: bool) -> None:
    """Do the work now if the file is small, else in a thread that notes how far it is."""
    step = "preview" if dry_run else "load"
    upload.note(state="running", step=step, done=0, total=None, text=_("reading"))
    who = Who(request.user.get_username(), f"workbook {upload.name}")
    allowed = set(
        Depot.objects.filter(pk__in=depots_of(request.user, "load register")).values_list("code", flat=True)
    )
    if upload.size <= IN_REQUEST_BYTES:
        _work(upload, who, allowed, step)
    else:
        threading.Thread(target=_in_thread, args=(upload, who, allowed, step), daemon=False).start()


def _in_thread(upload: Upload, who: Who, allowed: set[str], step: str) -> None:
    try:
        _work(upload, who, allowed, step)
    finally:
        connections.close_all()


def _work(upload: Upload, who: Who, allowed: set[str], step: str) -> None:
    """Load the file, or see what loading would do; what came of it stands in the note, whatever happens."""
    noted = 0.0

    def progress(done: int, total: int, text: str) -> None:
        nonlocal noted
        if time.monotonic() - noted >= NOTED_EVERY_SECONDS:
            noted = time.monotonic()
            upload.note(state="running", step=step, done=done, total=total, text=text)

    try:
        elsewhere = depots_touched(upload.path, upload.name) - allowed
        if elsewhere:
            upload.note(state="failed", step=step, text=_no_say(elsewhere))
            return
        report = load(upload.path, who, dry_run=step == "preview", progress=progress, name=upload.name)
    except RegisterFileError as fault:
        upload.note(state="failed", step=step, text=str(fault))
    except Exception:
        log.exception("loading %s failed", upload.sha256)
        text = _("A fault of the program stopped the loading. Nothing was written; tell whoever runs it.")
        upload.note(state="failed", step=step, text=text)
    else:
        if report.loaded:
            upload.forget_file()
        upload.note(state="done", step=step, text=_("done"), report=_kept(report))


def _no_say(depots: set[str]) -> str:
    return _(
        "This file would change what is at %(depots)s, where your roles do not include loading a register. "
        "Leave its rows out, or ask somebody who may load there as well."
    ) % {"depots": ", ".join(sorted(depots))}


def _kept(report: LoadReport) -> dict[str, Any]:
    """The report as the note keeps it: counts by sheet, all faults, and the first rows that are new or changed."""
    counts = Counter((row.sheet, row.outcome) for row in report.rows)
    moved = [row for row in report.rows if row.outcome != "unchanged"]
    return {
        **report.as_dict(),
        "by_sheet": [
            [sheet, *(counts[sheet, outcome] for outcome in ("new", "changed", "unchanged"))]
            for sheet in dict.fromkeys(row.sheet for row in report.rows)
        ],
        "rows": [[row.sheet, row.row, row.key, row.outcome, row.what] for row in moved[:ROWS_KEPT]],
        "rows_in_all": len(moved),
    }


def _shown(upload: Upload, work: dict[str, Any]) -> dict[str, Any]:
    report = work.get("report") or {}
    faults, warnings = report.get("faults", []), report.get("warnings", [])
    refused = {(fault["sheet"], fault["row"]) for fault in faults if fault["row"] is not None}
    return {
        "report": report,
        "may_load": _may_be_loaded(work),
        "refused_rows": len(refused),
        "faults": faults[:MOST_SHOWN],
        "faults_left_out": max(0, len(faults) - MOST_SHOWN),
        "warnings": warnings[:MOST_SHOWN],
        "warnings_left_out": max(0, len(warnings) - MOST_SHOWN),
        "rows": report.get("rows", [])[:MOST_SHOWN],
        "rows_left_out": max(0, report.get("rows_in_all", 0) - MOST_SHOWN),
    }
