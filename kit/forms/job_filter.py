"""What the list of jobs can be narrowed by."""

from __future__ import annotations

import django_filters
from django import forms
from django.db.models import F, Q, QuerySet
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from kit.forms.choices import said
from kit.models import Depot, Job, JobState

OPEN = ("open", _("planned or out"))
KITTED = [
    ("complete", _("complete")),
    ("short", _("short")),
    ("broken", _("a promise no longer holds")),
]


def day_input() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class JobFilter(django_filters.FilterSet):
    """Narrows jobs that carry `needed`, `held` and `broken` (see kit.tables.jobs.with_promises)."""

    q = django_filters.CharFilter(method="search", label=_("Reference or site"))
    depot = django_filters.ModelChoiceFilter(
        queryset=Depot.objects.none(), to_field_name="code", label=_("Depot"), empty_label=_("all of yours")
    )
    state = django_filters.ChoiceFilter(
        choices=[OPEN, *said(JobState.choices)], method="in_state", label=_("State"), empty_label=_("any")
    )
    kitted = django_filters.ChoiceFilter(
        choices=KITTED, method="is_kitted", label=_("Kit"), empty_label=_("any")
    )
    crew = django_filters.ChoiceFilter(label=_("Crew"), empty_label=_("any"))
    loads_from = django_filters.DateFilter(
        field_name="load_on", lookup_expr="gte", label=_("Loads on or after"), widget=day_input()
    )
    loads_until = django_filters.DateFilter(
        field_name="load_on", lookup_expr="lte", label=_("Loads on or before"), widget=day_input()
    )

    class Meta:
        model = Job
        fields: list[str] = []

    def __init__(self, data: QueryDict, *, depots: list[Depot], **more: object) -> None:
        super().__init__(data, **more)
        own = [depot.pk for depot in depots]
        self.filters["depot"].queryset = Depot.objects.filter(pk__in=own)
        named = Job.objects.filter(depot__in=own).exclude(crew="").order_by("crew")
        crews = named.values_list("crew", flat=True).distinct()
        self.filters["crew"].extra["choices"] = [(crew, crew) for crew in crews]

    def search(self, jobs: QuerySet[Job], _name: str, value: str) -> QuerySet[Job]:
        """Each word must stand somewhere in the reference or the site."""
        for word in value.split():
            jobs = jobs.filter(Q(reference__icontains=word) | Q(site__icontains=word))
        return jobs

    def in_state(self, jobs: QuerySet[Job], _name: str, value: str) -> QuerySet[Job]:
        if value == OPEN[0]:
            return jobs.filter(state__in=[JobState.PLANNED, JobState.OUT])
        return jobs.filter(state=value)

    def is_kitted(self, jobs: QuerySet[Job], _name: str, value: str) -> QuerySet[Job]:
        if value == "broken":
            return jobs.filter(broken__gt=0)
        return (
            jobs.filter(held__gte=F("needed")) if value == "complete" else jobs.filter(held__lt=F("needed"))
        )
