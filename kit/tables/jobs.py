"""The jobs as a table, each with what is promised to it."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import Count, F, IntegerField, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from kit.models import HOLDING, ArrangementLine, Job, JobState, Reservation, Standing
from kit.sentences import said
from kit.tables.columns import WIDE_ONLY, MarkColumn, NameColumn, Written
from kit.tables.marks import Mark, in_words, short_day


def with_promises(jobs: QuerySet[Job]) -> QuerySet[Job]:
    """The jobs with `needed` and `held` (pieces, quantities) and `broken` (promises that no longer hold)."""
    lines = ArrangementLine.objects.filter(arrangement=OuterRef("arrangement")).order_by()
    promises = Reservation.objects.filter(job=OuterRef("pk")).order_by()
    held = promises.filter(standing__in=[*HOLDING, Standing.RETURNED])
    broken = promises.filter(standing=Standing.BROKEN)
    return jobs.annotate(
        needed=_or_none(lines.values("arrangement").annotate(n=Sum("quantity")).values("n")),
        held=_or_none(held.values("job").annotate(n=Sum("quantity")).values("n")),
        broken=_or_none(broken.values("job").annotate(n=Count("pk")).values("n")),
    )


def _or_none(counted: QuerySet[Any, Any]) -> Coalesce:
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def kitted(job: Any, _today: date | None = None) -> Mark:
    """How the kit of an annotated job stands, in a mark."""
    if job.state == JobState.CANCELLED:
        return Mark("withdrawn", word=_("cancelled"))
    if job.state == JobState.CLOSED:
        return Mark("available", word=_("all back"))
    if job.broken:
        return Mark("not-in-fettle", word=_("broken"), more=_("%(n)s to replace") % {"n": job.broken})
    short = job.needed - job.held
    if not job.held:
        return Mark("short", word=_("nothing reserved"))
    if short > 0:
        return Mark("short", more=_("of %(short)s in %(needed)s") % {"short": short, "needed": job.needed})
    return Mark("in-fettle", word=_("complete"))


class JobTable(tables.Table):
    row_heading = "reference"
    caption = gettext_lazy("Jobs")
    at_first_hidden = ("crew",)
    written = {
        "reference": Written(lambda job, _day: job.reference, width=18),
        "site": Written(lambda job, _day: job.site, width=30),
        "load_on": Written(lambda job, _day: job.load_on, "date"),
        "return_on": Written(lambda job, _day: job.return_on, "date"),
        "kit": Written(lambda job, day: in_words(kitted(job, day)), width=24),
        "state": Written(lambda job, _day: _(job.get_state_display()), width=14),
        "arrangement": Written(lambda job, _day: said(str(job.arrangement)), width=28),
        "depot": Written(lambda job, _day: str(job.depot), width=14),
        "crew": Written(lambda job, _day: job.crew, width=16),
    }

    reference = tables.Column(
        verbose_name=gettext_lazy("Job"),
        linkify=("job", {"reference": A("reference")}),
        attrs={"a": {"class": "code"}},
    )
    site = tables.Column(verbose_name=gettext_lazy("Site"))
    load_on = tables.Column(verbose_name=gettext_lazy("Load on"))
    return_on = tables.Column(verbose_name=gettext_lazy("Return on"))
    kit = MarkColumn(kitted, verbose_name=gettext_lazy("Kit"))
    state = tables.Column(verbose_name=gettext_lazy("State"))
    arrangement = NameColumn(
        verbose_name=gettext_lazy("Arrangement"),
        attrs=WIDE_ONLY,
        order_by=("arrangement__name", "arrangement__version"),
    )
    depot = tables.Column(verbose_name=gettext_lazy("Depot"), order_by="depot__code", attrs=WIDE_ONLY)
    crew = tables.Column(verbose_name=gettext_lazy("Crew"))

    empty_hint = gettext_lazy(
        "A planner enters jobs here, or the sheet Jobs of a register workbook brings them. If there "
        "are some, take filters off."
    )
    empty_word = "job"

    class Meta:
        empty_text = gettext_lazy("No job matches.")
        order_by = ("load_on", "reference")

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def order_kit(self, jobs: QuerySet[Job], is_descending: bool) -> tuple[QuerySet[Job], bool]:
        """What wants most work first: broken promises, then how much is short."""
        short = F("needed") - F("held")
        if is_descending:
            return jobs.order_by("broken", short.asc(), "load_on", "reference"), True
        return jobs.order_by("-broken", short.desc(), "load_on", "reference"), True

    def render_load_on(self, value: date) -> str:
        return in_one_line(value)

    def render_return_on(self, value: date) -> str:
        return in_one_line(value)


def in_one_line(day: date) -> str:
    """The day with spaces at which no line breaks."""
    return short_day(day).replace(" ", "\u00a0")
