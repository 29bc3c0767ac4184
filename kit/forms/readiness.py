"""What readiness is asked for: an arrangement, a main, a depot, and the days."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.choices import NameField
from kit.forms.job_filter import day_input
from kit.models import Arrangement, Depot, Job
from kit.planning.mains import Main
from kit.stores import bore_of
from kit.stores.knowledge import mains_of_job

USUAL_DAYS, MOST_DAYS_SHOWN = 84, 366


class CurrentArrangement(NameField):
    """The arrangements in force, by name."""


class ReadinessForm(forms.Form):
    """A valid form has `main()`: the bore as typed, or that of a job's main."""

    arrangement = CurrentArrangement(
        queryset=Arrangement.objects.none(), label=gettext_lazy("Arrangement"), empty_label=None
    )
    bore_mm = forms.DecimalField(
        label=gettext_lazy("Bore, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
    )
    job = forms.ModelChoiceField(
        queryset=Job.objects.none(),
        to_field_name="reference",
        label=gettext_lazy("or the main of a job"),
        required=False,
        empty_label=gettext_lazy("none"),
    )
    depot = forms.ModelChoiceField(
        queryset=Depot.objects.none(),
        to_field_name="code",
        label=gettext_lazy("Depot"),
        required=False,
        empty_label=gettext_lazy("all of yours, added up"),
    )
    first = forms.DateField(label=gettext_lazy("From"), widget=day_input())
    days = forms.IntegerField(label=gettext_lazy("Days"), min_value=1, max_value=MOST_DAYS_SHOWN)

    def __init__(self, data: Any, *, depots: list[Depot], **more: Any) -> None:
        super().__init__(data, **more)
        own = [depot.pk for depot in depots]
        self.fields["arrangement"].queryset = Arrangement.objects.filter(current=True)
        self.fields["depot"].queryset = Depot.objects.filter(pk__in=own)
        self.fields["job"].queryset = (
            Job.objects.open().filter(depot__in=own).order_by("load_on", "reference")
        )

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if "bore_mm" in found and "job" in found and not self.errors:
            if found["bore_mm"] is None and found["job"] is None:
                self.add_error("bore_mm", _("Enter the bore, or choose a job with a main of known bore."))
            elif found["bore_mm"] is None and bore_of(found["job"])[0] is None:
                self.add_error(
                    "job", _("The bore of this job's main is not known: measure it, or enter one above.")
                )
        first = found.get("first")
        if first and not 1900 <= first.year <= 2199:
            self.add_error("first", _("Give a day from 1900 to 2199."))
        return found

    def main(self) -> Main:
        """A bore that is typed wins over the job's main, which is that of its near side."""
        bore_mm, job = self.cleaned_data["bore_mm"], self.cleaned_data["job"]
        return Main(bore_mm) if bore_mm is not None else mains_of_job(job).near

    @property
    def past(self) -> bool:
        """Whether it asks of days that are over."""
        first = self.cleaned_data["first"]
        return bool(first < timezone.localdate())


def usual(depot: Depot | None) -> dict[str, Any]:
    """What is most likely to be asked at a depot: for the main of the next job to load, from today on."""
    today = timezone.localdate()
    jobs = Job.objects.open().filter(depot=depot, load_on__gte=today - timedelta(days=1)).order_by("load_on")
    job = next((job for job in jobs.select_related("arrangement")[:20] if bore_of(job)[0] is not None), None)
    current = Arrangement.objects.filter(current=True)
    arrangement = (current.filter(name=job.arrangement.name).first() if job else None) or current.first()
    return {
        "arrangement": arrangement.pk if arrangement else "",
        "job": job.reference if job else "",
        "depot": depot.code if depot else "",
        "first": today.isoformat(),
        "days": str(USUAL_DAYS),
    }
