"""Reviews: what was tested with a gauge found out of tolerance, judged again, decided one by one, and closed."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Case, Count, F, IntegerField, Q, QuerySet, Value, When
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import RequestConfig

from inspections.actions.reviews import close, decide, has_ground, let_stand, take_in
from inspections.forms.reviews import CloseForm, DecideForm
from inspections.look_back import entered_since, reservations_relying_on
from inspections.models import Inspection, Outcome, Review, ReviewedRecord
from inspections.tables.reviews import ReviewedTable, ReviewTable, review_mark
from inspections.views.calibration import shown_calibration
from kit.stores import NotAllowed, acting
from kit.tables.marks import Mark, short_day
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import must

A_PAGE = 25
MOST_JOBS = 30
SCREEN = "review screen"
TO_DECIDE, FLIPPED, ALL = "to-decide", "another-verdict", "all"
FLIPS = ~Q(rejudged="") & ~Q(rejudged=F("inspection__verdict"))


def counted(reviews: QuerySet[Review]) -> QuerySet[Any]:
    """With `number` of records, how many are `to_decide` and how many have another verdict, `flipped`."""
    flips = ~Q(records__rejudged="") & ~Q(records__rejudged=F("records__inspection__verdict"))
    return reviews.annotate(
        number=Count("records"),
        to_decide=Count("records", filter=Q(records__outcome=Outcome.OPEN)),
        flipped=Count("records", filter=flips),
    ).select_related("gauge__depot", "gauge__kind", "calibration__check_done", "calibration__version")


def reviews_in_sight(request: HttpRequest) -> QuerySet[Review]:
    """Of gauges at the person's depots, and those in which an item of theirs is under review."""
    own = [depot.pk for depot in request.desk.depots]
    theirs = ReviewedRecord.objects.filter(inspection__item__depot__in=own).values("review_id")
    return Review.objects.filter(Q(gauge__depot__in=own) | Q(pk__in=theirs))


def _review(request: HttpRequest, number: int) -> Any:
    review = counted(reviews_in_sight(request).filter(pk=number)).first()
    if review is None:
        raise Http404(f"no review {number} in sight")
    return review


def _decides(request: HttpRequest, review: Review) -> frozenset[int]:
    """The depots whose items the person decides: who runs the review all, else those at which they release."""
    depots = {row for row in review.records.values_list("inspection__item__depot_id", flat=True).distinct()}
    if request.desk.may("release", review.gauge.depot):
        return frozenset(depots)
    return frozenset(depot for depot in depots if request.desk.may("release", depot))


@require_safe
@at_desk()
def reviews(request: HttpRequest) -> HttpResponse:
    """Those that are open, the oldest first; with ?part=closed the others, the newest first."""
    closed = request.GET.get("part") == "closed"
    rows = reviews_in_sight(request).filter(closed_at__isnull=not closed)
    table = ReviewTable(
        counted(rows), today=request.desk.today, order_by="-opened_at" if closed else "opened_at"
    )
    if closed:
        table.empty_text = _("No review was closed yet.")
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return render(request, "reviews/page.html", {"table": table, "closed": closed})


@at_desk()
def review(request: HttpRequest, number: int) -> HttpResponse:
    """One review, to be read and decided; a POST closes it with a conclusion."""
    shown = _review(request, number)
    runs = request.desk.may("release", shown.gauge.depot)
    form = CloseForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        must(request, "release", shown.gauge.depot)
        if form.is_valid():
            try:
                with acting(request.desk.who(SCREEN)) as act:
                    close(act, shown, form.cleaned_data["conclusion"])
            except NotAllowed as refusal:
                form.add_error(None, str(refusal))
            else:
                messages.success(request, _("The review of %(tag)s is closed.") % {"tag": shown.gauge.tag})
                return redirect("review", shown.pk)
    is_open = shown.closed_at is None
    tests = Inspection.objects.filter(reviewed_in__review=shown).only("item_id", "done_on")
    relying = reservations_relying_on(tests, tests.values("item_id"))
    jobs: dict[Any, list[str]] = {}
    for row in relying:
        jobs.setdefault(row.job, []).append(row.item.tag)
    own = frozenset(depot.pk for depot in request.desk.depots)
    return render(
        request,
        "reviews/one.html",
        {
            "review": shown,
            "mark": review_mark(shown, request.desk.today),
            "facts": _facts(shown, len(jobs)),
            "shown": shown_calibration(shown.calibration),
            "void": is_open and not has_ground(shown),
            "late": entered_since(shown).count() if is_open else 0,
            "table": _records(request, shown, own),
            "parts": _parts(request, shown),
            "jobs": [
                (job, sorted(set(tags)), job.depot_id in own) for job, tags in list(jobs.items())[:MOST_JOBS]
            ],
            "more_jobs": max(0, len(jobs) - MOST_JOBS),
            "runs": runs and is_open,
            "decides": is_open and bool(_decides(request, shown)),
            "same": _same(shown) if runs and is_open else 0,
            "form": form,
            "gauge_in_sight": shown.gauge.depot_id in own,
        },
    )


def _part(request: HttpRequest, review: Any) -> str:
    asked = request.GET.get("part", "")
    if asked in (TO_DECIDE, FLIPPED, ALL):
        return asked
    return TO_DECIDE if review.to_decide and review.closed_at is None else ALL


def _parts(request: HttpRequest, review: Any) -> list[tuple[str, str, bool]]:
    part = _part(request, review)
    words = {
        TO_DECIDE: _("To decide: %(n)s") % {"n": review.to_decide},
        FLIPPED: _("Another verdict: %(n)s") % {"n": review.flipped},
        ALL: _("All: %(n)s") % {"n": review.number},
    }
    return [(name, text, name == part) for name, text in words.items()]


def _records(request: HttpRequest, review: Any, own: frozenset[int]) -> ReviewedTable:
    counts_no_more = Inspection.objects.filter(corrects__isnull=False).values("corrects_id")
    rows = review.records.select_related("inspection__item", "inspection__check_done").annotate(
        # What changes comes first, then what cannot be worked out.
        shift=Case(
            When(FLIPS, then=Value(0)),
            When(rejudged="", then=Value(1)),
            default=Value(2),
            output_field=IntegerField(),
        ),
        counts_no_more=Case(
            When(inspection_id__in=counts_no_more, then=Value(1)),
            default=Value(0),
            output_field=IntegerField(),
        ),
    )
    chosen = {TO_DECIDE: Q(outcome=Outcome.OPEN), FLIPPED: FLIPS, ALL: Q()}[_part(request, review)]
    table = ReviewedTable(
        rows.filter(chosen).order_by("shift", "inspection__done_on", "inspection__item__tag", "pk"),
        today=request.desk.today,
        own=own,
        decides=_decides(request, review),
        closed=review.closed_at is not None,
    )
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return table


def _same(review: Review) -> int:
    return (
        review.records.filter(outcome=Outcome.OPEN, rejudged=F("inspection__verdict"))
        .exclude(rejudged="")
        .count()
    )


def _facts(review: Any, jobs: int) -> list[tuple[str, Any]]:
    facts = [
        (_("Found out of tolerance on"), short_day(review.until)),
        (_("Last found good on"), short_day(review.after) if review.after else _("never")),
        (_("Records made with it since"), review.number),
        (_("Of these with another verdict"), review.flipped),
        (_("Of these to be decided"), review.to_decide),
        (_("Jobs that relied on them"), jobs),
        (_("Opened"), f"{short_day(timezone.localdate(review.opened_at))}, {review.opened_by}"),
    ]
    if review.closed_at is not None:
        facts += [
            (_("Closed"), f"{short_day(timezone.localdate(review.closed_at))}, {review.closed_by}"),
            (_("Concluded"), review.conclusion),
        ]
    return facts


@at_desk()
def decide_record(request: HttpRequest, number: int) -> HttpResponse:
    """One record, and what becomes of it. The list posts here with one press; what is refused shows the form."""
    rows = ReviewedRecord.objects.select_related(
        "review__gauge__depot", "inspection__item__kind", "inspection__item__depot", "inspection__check_done"
    )
    reviewed = rows.filter(pk=number, review__in=reviews_in_sight(request).values("pk")).first()
    if reviewed is None:
        raise Http404(f"no reviewed record {number} in sight")
    if reviewed.inspection.item.depot_id not in _decides(request, reviewed.review):
        raise PermissionDenied(
            _("Your roles at %(depot)s do not include this. Ask a compliance lead if they should.")
            % {"depot": reviewed.inspection.item.depot}
        )
    form = DecideForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        asked, before = form.cleaned_data, broken_now()
        try:
            with acting(request.desk.who(SCREEN)) as act:
                decide(act, reviewed, asked["outcome"], asked["note"])
        except NotAllowed as refusal:
            form.add_error("note" if not asked["note"] else None, str(refusal))
        else:
            said = _("%(tag)s: %(outcome)s.") % {
                "tag": reviewed.inspection.item.tag,
                "outcome": str(Outcome(asked["outcome"]).label).lower(),
            }
            messages.success(request, said)
            say_what_broke(request, before)
            return redirect("review", reviewed.review_id)
    test = reviewed.inspection
    context = {
        "reviewed": reviewed,
        "review": reviewed.review,
        "test": test,
        "then": Mark(test.verdict),
        "form": form,
        "closed": reviewed.review.closed_at is not None,
    }
    return render(request, "reviews/decide.html", context)


@require_POST
@at_desk()
def stand(request: HttpRequest, number: int) -> HttpResponse:
    """Let all stand whose verdict is the same."""
    return _do(
        request,
        number,
        let_stand,
        lambda n: ngettext("%(n)s record stands.", "%(n)s records stand.", n) % {"n": n},
    )


@require_POST
@at_desk()
def take_in_late(request: HttpRequest, number: int) -> HttpResponse:
    """Take in what was entered since the review was opened."""
    return _do(
        request,
        number,
        take_in,
        lambda n: ngettext("%(n)s record is taken in.", "%(n)s records are taken in.", n) % {"n": n},
    )


def _do(request: HttpRequest, number: int, action: Any, words: Any) -> HttpResponse:
    shown = _review(request, number)
    must(request, "release", shown.gauge.depot)
    before = broken_now()
    try:
        with acting(request.desk.who(SCREEN)) as act:
            done = action(act, shown)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, words(done))
        say_what_broke(request, before)
    return redirect("review", shown.pk)
