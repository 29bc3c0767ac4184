"""The bench: what is to be checked, what bites first at the top; scan a tag to open its due check."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspections.actions.batch import refuse_method
from inspections.batch import KEY, Batch, Scan
from inspections.bench import due_check, is_gauge
from inspections.bench_list import bench_list
from inspections.due_list import DueEntry
from inspections.forms.bench_filter import BatchOfForm, BenchFilter
from inspections.models import Check, HoldRun
from inspections.tables.bench import BenchTable
from inspections.views.panels import BENCH_DAYS
from inspections.views.ways import record_url
from kit.forms.in_force import filters_in_force
from kit.models import Item
from kit.sentences import said as in_words
from kit.stores import NotAllowed
from kit.views.desk import at_desk, told
from kit.views.found import must, scanned

A_PAGE = 25


@at_desk("inspect")
def bench(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        return _begin_batch(request)
    if "code" in request.GET:
        return _open(request, request.GET["code"])
    return _page(request)


def _page(request: HttpRequest, refused: str = "", code: str = "") -> HttpResponse:
    today = request.desk.today
    listed = bench_list(request.desk.depot.pk, today, BENCH_DAYS)
    form = BenchFilter(request.GET or None, entries=[entry for entry, _load in listed])
    rows = form.narrowed(listed)
    entries = [entry for entry, _load in rows]
    loads = {entry.job: load for entry, load in rows if entry.job and load}
    table = BenchTable(entries, today=today, loads=loads, urls=_urls(entries))
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return render(
        request,
        "bench/page.html",
        {
            "table": table,
            "form": form,
            "chosen": filters_in_force(form, request.GET),
            "number": len(entries),
            "days": BENCH_DAYS,
            "refused": refused,
            "code": code,
            "batch_form": BatchOfForm(auto_id="id_batch_%s"),
            "begun": _begun(request),
            "running": HoldRun.objects.filter(depot=request.desk.depot).count(),
        },
    )


def _urls(entries: list[DueEntry]) -> dict[str, str]:
    """Where each entry is recorded, by its key: by check and kind, so that no row asks the database."""
    wanted = {entry.check for entry in entries}
    checks = Check.objects.in_force().filter(name__in=wanted).select_related("kind")
    by_name = {(check.kind.name, check.name): check for check in checks}
    found = {}
    for entry in entries:
        check = by_name.get((entry.kind, entry.check))
        item = Item(tag=entry.tag)
        found[entry.pk] = record_url(item, check) if check else ""
    return found


def _begun(request: HttpRequest) -> list[tuple[Check, int]]:
    """Batches that were begun and not recorded yet, with how many pieces each has."""
    kept = request.session.get(KEY, {})
    checks = Check.objects.in_force().select_related("kind").in_bulk([int(number) for number in kept])
    return [
        (checks[int(number)], len(batch["pieces"]))
        for number, batch in kept.items()
        if int(number) in checks and batch["pieces"]
    ]


def _open(request: HttpRequest, code: str) -> HttpResponse:
    """The due check of what was scanned."""
    found = scanned(request, code, jobs=False)
    if found.item is None:
        return _page(request, found.refusal, found.code)
    item = found.item
    must(request, "inspect", item.depot)
    check = due_check(item)
    if check is None:
        more = _(" It is read on as a gauge at the hold test bench.") if is_gauge(item) else ""
        said = _("No check is asked of %(tag)s, a %(kind)s.") % {
            "tag": item.tag,
            "kind": in_words(item.kind.name),
        }
        return _page(request, said + more, found.code)
    return redirect(record_url(item, check))


def _begin_batch(request: HttpRequest) -> HttpResponse:
    """A batch of what is ticked, or an empty one of the check chosen."""
    if "check" in request.POST:
        form = BatchOfForm(request.POST)
        if form.is_valid():
            return redirect("batch", form.cleaned_data["check"].pk)
        messages.error(request, _("Choose the check that the batch is of."))
        return redirect("bench")
    keys = [key.partition(" ") for key in request.POST.getlist("chosen")]
    ids = {int(number): check for number, _space, check in keys if number.isdecimal()}
    items = (
        Item.objects.filter(pk__in=ids, depot__in=request.desk.depots).select_related("kind").order_by("tag")
    )
    asked = {(item.kind_id, ids[item.pk]) for item in items}
    if len(asked) != 1 or len(set(ids.values())) != 1:
        said = (
            _("Tick rows of one check of one kind: a batch records one check.")
            if asked
            else _("Tick rows first.")
        )
        messages.error(request, said)
        return redirect(request.get_full_path())
    [(kind, name)] = asked
    check = Check.objects.in_force().select_related("kind").filter(kind=kind, name=name).first()
    if check is None:
        messages.error(request, _("That check is not asked for any longer."))
        return redirect("bench")
    try:
        refuse_method(check)
    except NotAllowed as refusal:
        return told(request, refusal, "bench")
    batch = Batch.of(request.session, check)
    there = {piece.item for piece in batch.pieces}
    batch.pieces += [Scan(item.pk, item.tag) for item in items if item.pk not in there]
    batch.keep(request.session)
    return redirect("batch", check.pk)
