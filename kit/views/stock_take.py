"""Stock-take: begin a count, scan what is there, settle what does not come out even one by one, write it out."""

from __future__ import annotations

from tempfile import TemporaryFile
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST, require_safe

from kit.forms.stock_take import BeginForm, SettleForm
from kit.models import Deed, Settled, StockTake, StockTakeLine
from kit.papers.dossier import dossier_pdf, in_language
from kit.papers.store_stock_take import result_of, words_of
from kit.stores import (
    LineNow,
    NotAllowed,
    acting,
    begin_stock_take,
    close_stock_take,
    lines_now,
    see,
    settle,
)
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import LONGEST_CODE, must, scanned
from kit.workbooks.writing import Column, write_table_workbook

SOURCE = "stock-take screen"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
PDF = "application/pdf"
_NEEDS = {Settled.COUNTED: "quantity", Settled.MOVED: "to"}


@at_desk("take stock")
def stock_takes(request: HttpRequest) -> HttpResponse:
    depot = request.desk.depot
    form = BeginForm(request.POST if request.method == "POST" else None, depot=depot)
    if request.method == "POST" and form.is_valid():
        try:
            with acting(request.desk.who(SOURCE)) as act:
                take = begin_stock_take(act, depot, form.cleaned_data["place"], form.cleaned_data["note"])
        except NotAllowed as refusal:
            form.add_error("place", str(refusal))
        else:
            return redirect("stock_take", take.number)
    takes = StockTake.objects.filter(depot=depot).select_related("depot", "place")
    context = {
        "form": form,
        "running": [take for take in takes if take.open],
        "closed": [take for take in takes if not take.open][:20],
    }
    return render(request, "stock_take/page.html", context)


def _take(request: HttpRequest, number: int) -> StockTake:
    take = StockTake.objects.select_related("depot", "place").filter(number=number).first()
    if take is None or take.depot_id not in {depot.pk for depot in request.desk.depots}:
        raise Http404(str(number))
    must(request, "take stock", take.depot)
    return take


def _lists(take: StockTake) -> dict[str, Any]:
    lines = lines_now(take)
    by: dict[str, list[LineNow]] = {}
    for now in lines:
        by.setdefault(now.sort, []).append(now)
    expected = sum(now.line.expected for now in lines)
    return {
        "take": take,
        "expected": expected,
        "seen": sum(now.line.expected and now.line.seen_at is not None for now in lines),
        "not_seen": by.get("missing", []),
        "to_settle": [*by.get("elsewhere", []), *by.get("unknown", []), *by.get("uncounted", [])],
        "explained": by.get("explained", []),
        "settled": by.get("settled", []),
        "even": by.get("even", []),
        "left": sum(now.open for now in lines),
    }


@at_desk()
def stock_take(request: HttpRequest, number: int) -> HttpResponse:
    return render(request, "stock_take/one.html", _lists(_take(request, number)))


@require_POST
@at_desk()
def stock_take_scan(request: HttpRequest, number: int) -> HttpResponse:
    """One scanned code: here, here already, belongs elsewhere, or unknown; each is noted but the second."""
    take = _take(request, number)
    found = scanned(request, request.POST.get("code", ""), jobs=False)
    if found.item is None and (found.items or not found.code):
        return _answer(request, take, "refused", found.refusal)
    try:
        with acting(request.desk.who(SOURCE)) as act:
            line, new = see(act, take, found.item, found.code, found.why)
    except NotAllowed as refusal:
        return _answer(request, take, "refused", str(refusal))
    [now] = lines_now(take, [line.pk])
    if not new:
        said = _("%(what)s was seen already, by %(who)s at %(time)s: nothing is counted twice.")
        at = timezone.localtime(line.seen_at).strftime("%H:%M")
        return _answer(request, take, "note", said % {"what": line, "who": line.seen_by, "time": at})
    if now.sort in ("elsewhere", "unknown", "uncounted"):
        return _answer(request, take, "caution", f"{line}: {now.why}", line)
    return _answer(request, take, "done", _("%(what)s is here.") % {"what": line})


def _answer(
    request: HttpRequest, take: StockTake, kind: str, said: str, line: StockTakeLine | None = None
) -> HttpResponse:
    if not request.htmx:
        by_kind = {"refused": messages.error, "note": messages.info, "caution": messages.warning}
        by_kind.get(kind, messages.success)(request, said)
        return redirect("stock_take", take.number)
    context = {"kind": kind, "said": said, "line": line, "code": request.POST.get("code", "")[:LONGEST_CODE]}
    return render(request, "stock_take/answer.html", {**context, **_lists(take)})


@at_desk()
def stock_take_line(request: HttpRequest, number: int, line: int) -> HttpResponse:
    """One line: what the book says, and what a person decides about it."""
    take = _take(request, number)
    one = take.lines.select_related("item__kind", "stock_take__depot").filter(pk=line).first()
    if one is None:
        raise Http404(str(line))
    [now] = lines_now(take, [one.pk])
    asks = frozenset(_NEEDS[way] for way in now.ways if way in _NEEDS and not _to_here(way, one))
    form = SettleForm(request.POST if request.method == "POST" else None, line=one, asks=asks)
    if request.method == "POST" and form.is_valid():
        how = request.POST.get("how", "")
        asked = form.cleaned_data
        before = broken_now()
        try:
            if how not in Settled.values or not how:
                raise NotAllowed(_("Say what became of it: press one of the buttons."))
            with acting(request.desk.who(SOURCE)) as act:
                settle(act, one, how, asked["why"], asked.get("to"), asked.get("quantity"))
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            said = _("%(what)s is settled: %(how)s.")
            messages.success(request, said % {"what": one, "how": _(Settled(how).label).lower()})
            say_what_broke(request, before)
            return redirect("stock_take", take.number)
    ways = [(way, _way_in_words(way, one)) for way in now.ways]
    context = {"take": take, "line": one, "now": now, "ways": ways, "form": form}
    return render(request, "stock_take/line.html", context)


def _to_here(way: Settled, line: StockTakeLine) -> bool:
    return way == Settled.MOVED and line.seen_at is not None


def _way_in_words(way: Settled, line: StockTakeLine) -> str:
    if way == Settled.MOVED:
        here = _("It stays in %(place)s: change the book") % {"place": line.stock_take.where}
        return here if line.seen_at else _("It lies in that place: change the book")
    return {
        Settled.FOUND: _("It is here after all") if line.expected else _("Found again: to quarantine"),
        Settled.LOST: _("Note it as lost"),
        Settled.PUT_BACK: _("I put it where it belongs"),
        Settled.COUNTED: _("Record the count"),
        Settled.NOTED: _("Note it, the book stays as it is"),
    }[way]


@require_POST
@at_desk()
def stock_take_close(request: HttpRequest, number: int) -> HttpResponse:
    take = _take(request, number)
    try:
        with acting(request.desk.who(SOURCE)) as act:
            close_stock_take(act, take)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("%(take)s is closed.") % {"take": take})
    return redirect("stock_take", take.number)


COLUMNS = (
    Column(gettext_noop("tag or code"), width=24),
    Column(gettext_noop("kind"), said=True),
    Column(gettext_noop("result")),
    Column(gettext_noop("expected")),
    Column(gettext_noop("in the book at the start"), "integer"),
    Column(gettext_noop("counted"), "integer"),
    Column(gettext_noop("seen"), "date", width=17),
    Column(gettext_noop("seen by")),
    Column(gettext_noop("decided")),
    Column(gettext_noop("decided by")),
    Column(gettext_noop("why"), width=50),
)


@at_desk()
def stock_take_workbook(request: HttpRequest, number: int) -> HttpResponse:
    """The result as a spreadsheet: each line with what was expected, seen and decided, and by whom."""
    take = _take(request, number)
    lines = lines_now(take)
    facts = {
        _("Counted"): take.where,
        _("Begun"): _("%(at)s by %(who)s")
        % {"at": f"{timezone.localtime(take.started_at):%Y-%m-%d %H:%M}", "who": take.started_by},
        _("Closed"): _("%(at)s by %(who)s")
        % {"at": f"{timezone.localtime(take.closed_at):%Y-%m-%d %H:%M}", "who": take.closed_by}
        if take.closed_at
        else _("not yet"),
        _("Written by"): request.user.get_username(),
    }
    sorts = ("even", "explained", "settled", "missing", "elsewhere", "unknown", "uncounted")
    counts = [(words_of(sort), sum(now.sort == sort for now in lines)) for sort in sorts]
    file = TemporaryFile()  # noqa: SIM115  FileResponse closes it
    write_table_workbook(
        file,
        _("Stock-take %(take)s") % {"take": take},
        COLUMNS,
        map(_row, lines),
        facts,
        counts,
        for_people=True,
    )
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=f"stock-take-{take}.xlsx", content_type=XLSX)


@require_safe
@at_desk()
def stock_take_result(request: HttpRequest, number: int) -> HttpResponse:
    """The result as PDF; the ledger tells of the printing."""
    take = _take(request, number)
    if request.method == "HEAD":
        return HttpResponse(content_type=PDF)
    with acting(request.desk.who(SOURCE)) as act:
        act.tell(Deed.PRINTED, [take], note="stock-take result", facts={"paper": "stock-take result"})
        act.flush()
        paper = result_of(take)
    answer = HttpResponse(dossier_pdf(in_language(paper)), content_type=PDF)
    answer["Content-Disposition"] = f'inline; filename="stock-take-{take}.pdf"'
    answer["Cache-Control"] = "no-store"
    return answer


def _row(now: LineNow) -> list[object]:
    line, item = now.line, now.line.item
    return [
        str(line),
        item.kind.name if item else "",
        words_of(now.sort),
        line.expected,
        line.quantity_at_start,
        line.counted_quantity,
        line.seen_at,
        line.seen_by,
        _(line.get_settled_display()) if line.settled else "",
        line.settled_by,
        now.why,
    ]
