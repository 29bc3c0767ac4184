"""Planning a job and changing one; a reason for what is given up."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.choices import VersionField
from kit.forms.item import LineField
from kit.forms.job_filter import day_input
from kit.models import Arrangement, Depot, Job
from kit.stores.plan_job import JOB_DETAILS, PRIORITIES

MATERIALS = ("PE", "steel", "ductile iron", "cast iron", "spun iron")


def refuse_back_before_loaded(form: forms.Form, data: dict[str, Any]) -> None:
    """Say at the return day of the form that it comes before the loading day, if it does."""
    load_on, return_on = data.get("load_on"), data.get("return_on")
    if load_on and return_on and return_on < load_on:
        form.add_error(
            "return_on", _("The kit cannot be back before it is loaded: change one of the two days.")
        )


class JobDetails(forms.Form):
    """What a job is: where, when, on which main, by which arrangement."""

    materials = MATERIALS

    depot = forms.ModelChoiceField(queryset=Depot.objects.none(), label=gettext_lazy("Depot"))
    site = LineField(label=gettext_lazy("Site"), max_length=200, required=False)
    load_on = forms.DateField(label=gettext_lazy("Load on"), widget=day_input())
    return_on = forms.DateField(
        label=gettext_lazy("Return on"),
        widget=day_input(),
        help_text=gettext_lazy("The kit must be in date up to and with this day."),
    )
    main_material = LineField(
        label=gettext_lazy("Material of the main"),
        max_length=60,
        required=False,
        help_text=gettext_lazy(
            "PE, steel and ductile iron give a nominal bore; others by the table of mains, or measured."
        ),
        widget=forms.TextInput(attrs={"list": "materials"}),
    )
    main_size = LineField(
        label=gettext_lazy("Size of the main"),
        max_length=40,
        required=False,
        help_text=gettext_lazy("As written on it: 180, DN150 or 6 in."),
    )
    main_sdr = LineField(
        label=gettext_lazy("SDR, schedule or class"),
        max_length=20,
        required=False,
        help_text=gettext_lazy("SDR 11, sch 40, K9 or C40."),
    )
    main_wall_mm = forms.DecimalField(
        label=gettext_lazy("Wall, mm"),
        min_value=Decimal("0.001"),
        max_value=500,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("If it is known; it wins over SDR, schedule and class."),
    )
    bore_mm = forms.DecimalField(
        label=gettext_lazy("Measured bore, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("Measured at the main, it wins over the nominal one. Bags are chosen by it."),
    )
    far_bore_mm = forms.DecimalField(
        label=gettext_lazy("Measured bore on the far side, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("If the main differs there; empty, it is as on the near side."),
    )
    ovality_mm = forms.DecimalField(
        label=gettext_lazy("Ovality, mm"),
        min_value=0,
        max_value=500,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("The greatest less the least diameter; give their mean as the measured bore."),
    )
    lining_mm = forms.DecimalField(
        label=gettext_lazy("Lining, mm"),
        min_value=0,
        max_value=500,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("Its thickness. It is taken off a nominal bore, not off a measured one."),
    )
    base_mark = LineField(
        label=gettext_lazy("Mark of the bases"),
        max_length=40,
        required=False,
        help_text=gettext_lazy("Heads and bases of a job share it."),
    )
    arrangement = VersionField(
        queryset=Arrangement.objects.none(),
        label=gettext_lazy("Arrangement"),
        empty_label=gettext_lazy("choose"),
        help_text=gettext_lazy("The network operator's procedure decides which."),
    )
    crew = LineField(label=gettext_lazy("Crew"), max_length=60, required=False)
    priority = forms.IntegerField(
        label=gettext_lazy("Priority"),
        min_value=PRIORITIES[0],
        max_value=PRIORITIES[-1],
        required=False,
        initial=PRIORITIES[0],
        help_text=gettext_lazy("1 is the usual, 9 the most: what it weighs, when not all jobs can be whole."),
    )

    def __init__(self, *args: Any, depots: list[Depot], job: Job | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        own = {depot.pk for depot in depots}
        offered = Q(current=True)
        if job is not None:
            own.add(job.depot_id)
            offered |= Q(pk=job.arrangement_id)
        self.fields["depot"].queryset = Depot.objects.filter(pk__in=own)
        self.fields["arrangement"].queryset = Arrangement.objects.filter(offered)

    def clean_priority(self) -> int:
        return self.cleaned_data["priority"] or PRIORITIES[0]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        refuse_back_before_loaded(self, data)
        return data

    def details(self) -> dict[str, Any]:
        """The details of the job by the names of its columns."""
        return {
            name: self.cleaned_data[name] for name in (*JOB_DETAILS, "reference") if name in self.cleaned_data
        }


class PlanForm(JobDetails):
    reference = LineField(
        label=gettext_lazy("Reference"),
        max_length=60,
        help_text=gettext_lazy("What the job is called by everybody; it cannot be changed later."),
    )
    field_order = ["reference"]

    def clean_reference(self) -> str:
        reference: str = self.cleaned_data["reference"]
        if reference in (".", "..") or not reference.isprintable():
            raise forms.ValidationError(
                _("A reference needs letters or figures, and nothing that nobody sees.")
            )
        if same := Job.objects.filter(reference__iexact=reference).first():
            raise forms.ValidationError(
                _("There is a job %(job)s already: give another reference, or change that job."),
                params={"job": same},
            )
        return reference


class ChangeForm(JobDetails):
    note = LineField(
        label=gettext_lazy("Why"),
        max_length=300,
        required=False,
        help_text=gettext_lazy("Stands in the ledger beside the change."),
    )


class WhyForm(forms.Form):
    """The reason for giving something up."""

    why = LineField(label=gettext_lazy("Why"), max_length=500)
