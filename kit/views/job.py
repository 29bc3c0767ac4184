"""The page of one job: its facts, what no longer holds, its kit list, and what one press does."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import BadRequest
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.job_filter import day_input
from kit.links import linked
from kit.models import Item, Job, JobState, LedgerEntry, Reservation, Standing
from kit.papers.wording import millimetres, wall_class
from kit.planning import Main, Mains
from kit.ports import ports
from kit.sentences import said
from kit.stores import NotAllowed, acting, reserve, substitute
from kit.stores.knowledge import mains_of_job
from kit.stores.ways_out import told_kit_list
from kit.stores.written_by import written_by
from kit.tables.marks import Mark, short_day, standing_of
from kit.views.desk import at_desk
from kit.views.found import job_in_sight, must
from kit.views.kit_lines import shown_lines
from kit.views.panels import panels
from kit.views.reach import shown_reach
from kit.views.story import told
from kit.views.ways_out import shown_ways

SCREEN = "job screen"
ENTRIES_A_PAGE = 20
ENDED = (JobState.CLOSED, JobState.CANCELLED)


class AskForm(forms.Form):
    """For which day, and whether other depots are looked at as well."""

    as_of = forms.DateField(label=gettext_lazy("As of"), required=False, widget=day_input())
    all_depots = forms.BooleanField(label=gettext_lazy("Items of all depots"), required=False)


@at_desk()
def job(request: HttpRequest, reference: str) -> HttpResponse:
    shown = job_in_sight(request, reference)
    if request.method == "POST":
        return _press(request, shown)
    return render(request, "job/page.html", _context(request, shown))


def asked_for(request: HttpRequest) -> tuple[AskForm, date, bool]:
    """What the address asks: (form, as of, all depots). The form says what is no date, and today holds."""
    ask = AskForm(request.GET if {"as_of", "all_depots"} & set(request.GET) else None)
    today: date = request.desk.today
    if not ask.is_bound:
        return AskForm(initial={"as_of": today}), today, False
    ask.is_valid()
    return ask, ask.cleaned_data.get("as_of") or today, bool(ask.cleaned_data.get("all_depots"))


def _press(request: HttpRequest, job: Job) -> HttpResponse:
    """Reserve the best choice, or accept a proposed substitute: one press, nothing to type."""
    must(request, "reserve", job.depot)
    do = request.POST.get("do")
    if do not in ("reserve", "accept"):
        raise BadRequest(
            _("The page sent something that it does not offer. Load it again and press once more.")
        )
    try:
        with acting(request.desk.who(SCREEN)) as act:
            if do == "reserve":
                kit = reserve(act, Job.objects.select_related("depot", "arrangement").get(pk=job.pk))
                short = sum(line.short for line in kit.lines)
                done = (
                    _("The best choice is reserved for %(job)s; the kit is complete.")
                    if kit.complete
                    else _("The best choice is reserved for %(job)s; it is still short of %(short)s.")
                ) % {"job": job, "short": short}
            else:
                done = _accept(act, request, job)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, done)
    return redirect("job", job.reference)


def _accept(act: Any, request: HttpRequest, job: Job) -> str:
    number = request.POST.get("reservation", "")
    if not number.isdigit():
        raise BadRequest(_("The page did not say which promise. Load it again and press once more."))
    reservation = get_object_or_404(
        Reservation.objects.select_related("job__depot", "job__arrangement", "line", "item"),
        pk=int(number[:18]),
        job=job,
    )
    other = get_object_or_404(
        Item.objects.select_related("kind", "depot"), tag=request.POST.get("proposed", "")
    )
    substitute(act, reservation, other, why=_("proposed in its place; %(why)s") % {"why": reservation.why})
    return _("%(other)s is reserved in the place of %(tag)s.") % {"other": other, "tag": reservation.item}


def _context(request: HttpRequest, job: Job) -> dict[str, Any]:
    desk = request.desk
    ended = job.state in ENDED
    subject = f"job:{job.reference}"
    entries = (
        LedgerEntry.objects.filter(mentions__about=subject)
        .prefetch_related("corrections")
        .order_by("-number")
    )
    page = Paginator(entries, ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    rows = list(job.reservations.select_related("item__kind", "line").order_by("line__position", "item__tag"))
    mains = mains_of_job(job)
    context = {
        "job": job,
        "ended": ended,
        "facts": job_facts(job, mains, proofs_of(job)),
        "warning": mains.warning,
        "bore_steps": bore_steps(mains),
        "may_reserve": desk.may("reserve", job.depot) and not ended,
        "may_plan": desk.may("plan", job.depot) and not ended,
        "may_export": desk.may("export", job.depot),
        "may_issue": desk.may("issue", job.depot) and not ended,
        "broken": [(row, None) for row in rows if row.standing == Standing.BROKEN],
        "unfit_out": [row for row in rows if row.standing == Standing.ISSUED and row.why],
        "issued": any(row.standing in (Standing.ISSUED, Standing.RETURNED) for row in rows),
        "back": any(row.standing == Standing.RETURNED for row in rows),
        "promised": any(row.standing in (Standing.PROMISED, Standing.BROKEN) for row in rows),
        "ways": [way for ways in ports.job_ways for way in ways(request, job)],
        "panels": panels(request, ports.job_panels, job),
        "entries": told(page.object_list, subject),
        "page": page,
    }
    if ended:
        context["history"] = [(row, standing_of(row)) for row in rows]
        return context
    context["reach"] = shown_reach(job, every=request.GET.get("reach") == "all")
    context.update(_kit(request, job))
    if not context["as_of"]:
        context["broken"] = _with_proposals([row for row, _none in context["broken"]], context["lines"])
    return context


def _with_proposals(broken: list[Reservation], lines: list[Any]) -> list[tuple[Reservation, Item | None]]:
    """Each broken promise with what the best choice now puts in its place; no piece is proposed twice.

    What was proposed when it broke may be promised elsewhere by now.
    """
    free = {
        shown.line.line.name: [p.item for p in shown.pieces if p.reservation is None and not p.item.counted]
        for shown in lines
    }
    pairs: list[tuple[Reservation, Item | None]] = []
    for row in broken:
        left = free.get(row.line.name, [])
        first = next((item for item in left if item.pk == row.proposed_id), left[0] if left else None)
        if first is not None:
            left.remove(first)
        pairs.append((row, first))
    return pairs


def _kit(request: HttpRequest, job: Job) -> dict[str, Any]:
    """The kit list for the day and the depots asked for."""
    ask, as_of, all_depots = asked_for(request)
    told_kit = told_kit_list(job, as_of, all_depots=all_depots)
    kit = told_kit.kit
    lines = shown_lines(job, kit, every="every" in request.GET)
    today: date = request.desk.today
    query = request.GET.copy()
    query.pop("page", None)
    every = query.copy()
    every["every"] = "1"
    return {
        "ask": ask,
        "as_of": as_of if as_of != today else None,
        "past": as_of < today,
        "all_depots": all_depots,
        "kit": kit,
        "ways_out": shown_ways(request, job, told_kit.refusal) if told_kit.refusal else None,
        "lines": lines,
        "kit_mark": _kit_mark(lines, kit.complete),
        "to_reserve": as_of == today and any(not p.reservation for line in lines for p in line.pieces),
        "query": query.urlencode(),
        "every_url": f"?{every.urlencode()}",
    }


def _kit_mark(lines: list[Any], complete: bool) -> Mark:
    short = sum(line.line.short for line in lines)
    open_ = sum(piece.quantity for line in lines for piece in line.pieces if piece.reservation is None)
    if not complete:
        return Mark("short", more=_("of %(n)s") % {"n": short})
    if open_:
        return Mark("available", word=_("complete"), more=_("%(n)s not reserved yet") % {"n": open_})
    return Mark("in-fettle", word=_("complete"), more=_("all reserved"))


def proofs_of(job: Job) -> dict[str, str]:
    """By column of the job: the address of the entry that last wrote it."""
    found = written_by(job, ("load_on", "return_on", "bore_mm", "far_bore_mm", "state", "priority"))
    return {column: reverse("entry", args=[number]) for column, number in found.items()}


def job_facts(job: Job, mains: Mains, proofs: Mapping[str, str]) -> list[tuple[Any, Any]]:
    """What is recorded of the job, as pairs of label and value; each day and figure leads to what proves it."""

    def proved(words: Any, column: str) -> Any:
        return linked(proofs[column], words) if column in proofs else words

    nominal = mains.nominal
    main = " ".join(
        part
        for part in (
            job.main_material,
            job.main_size,
            wall_class(job.main_material, job.main_sdr),
            _("wall %(wall)s mm") % {"wall": millimetres(job.main_wall_mm)} if job.main_wall_mm else "",
        )
        if part
    )
    unknown = _("not recorded")
    arrangement = linked(reverse("arrangement", args=[job.arrangement_id]), said(str(job.arrangement)))
    bore = _bore_words(mains.near, mains.source)
    rows = [
        (_("State"), proved(_(job.get_state_display()), "state")),
        (_("Depot"), job.depot),
        (_("Site"), job.site or unknown),
        (_("Load on"), proved(short_day(job.load_on), "load_on")),
        (_("Return on"), proved(short_day(job.return_on), "return_on")),
        (_("Main"), main or unknown),
        (_("Bore"), proved(bore, "bore_mm") if job.bore_mm else bore),
    ]
    if mains.far is not None:
        rows.append((_("Bore on the far side"), proved(_bore_words(mains.far, _("measured")), "far_bore_mm")))
    if job.bore_mm is not None:
        known = (
            {"bore": millimetres(nominal.bore_mm), "source": said(nominal.source)}
            if nominal.bore_mm
            else None
        )
        words = _("%(bore)s mm, %(source)s") % known if known else said(nominal.why)
        rows.append((_("Nominal bore"), words))
    if job.crew:
        rows.append((_("Crew"), job.crew))
    if job.priority != 1:
        rows.append((_("Priority"), proved(job.priority, "priority")))
    return [
        *rows,
        (_("Mark of the bases"), job.base_mark or unknown),
        (_("Arrangement"), arrangement),
        (_("Load list revision"), job.revision),
    ]


def _bore_words(main: Main, source: str) -> str:
    if main.bore_mm is None:
        return _("not known")
    words = _("%(bore)s mm, %(source)s") % {"bore": millimetres(main.bore_mm), "source": said(source)}
    if main.ovality_mm and main.least_mm is not None and main.most_mm is not None:
        span = {"least": millimetres(main.least_mm), "most": millimetres(main.most_mm)}
        words += _("; out of round from %(least)s to %(most)s mm") % span
    return words


def bore_steps(mains: Mains) -> list[tuple[str, tuple[str, ...]]]:
    """How the bores were reached: a heading and its sentences, one for each side that has a bore of its own."""
    if mains.far is None:
        return [("", mains.near.steps)]
    return [(_("Near side"), mains.near.steps), (_("Far side"), mains.far.steps)]
