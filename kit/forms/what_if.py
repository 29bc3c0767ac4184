"""One form for each sort of change that a trial plan may hold. A valid form has `change()`."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kit.forms.choices import NameField, VersionField
from kit.forms.item import LineField
from kit.forms.job_filter import day_input
from kit.models import Arrangement, Custody, Depot, Item, Job, JobState, Kind, State
from kit.planning.what_if import (
    BENCH_MOST,
    PIECES_MOST,
    AddJob,
    Buy,
    CancelJob,
    Change,
    CloseBench,
    MoveJob,
    SetBench,
    TransferPiece,
    WithdrawPiece,
)


def mm_field(label: object, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, min_value=Decimal("0.001"), max_value=5000, decimal_places=3, required=False, **more
    )


def day_field(label: object, **more: Any) -> forms.DateField:
    return forms.DateField(label=label, widget=day_input(), **more)


class ChangeForm(forms.Form):
    """What the forms of all changes share: choices of one's own depots, and faults of the change itself at the top."""

    def __init__(self, data: Any = None, *, depots: list[Depot], **more: Any) -> None:
        super().__init__(data, **more)
        own = Depot.objects.filter(pk__in=[depot.pk for depot in depots])
        for name, field in self.fields.items():
            if isinstance(field, forms.ModelChoiceField) and name in ("depot", "to_depot"):
                field.queryset = own
        if "job" in self.fields:
            # A job of which something is out is no longer moved or called off by a plan.
            jobs = Job.objects.filter(state=JobState.PLANNED, depot__in=own)
            self.fields["job"].queryset = jobs.order_by("load_on", "reference")
        self.own = own

    def change(self) -> Change:
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if not self.errors:
            try:
                self.change()
            except ValueError as fault:
                self.add_error(None, str(fault))
        return found

    def _text(self, name: str) -> str:
        return str(self.cleaned_data.get(name) or "")


def depot_field(label: object = _("Depot")) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(Depot.objects.none(), to_field_name="code", label=label, empty_label=None)


class AddJobForm(ChangeForm):
    reference = LineField(label=_("Reference"), max_length=60)
    depot = depot_field()
    load_on = day_field(_("Load on"))
    return_on = day_field(_("Return on"))
    arrangement = VersionField(
        Arrangement.objects.filter(current=True),
        label=_("Arrangement"),
        to_field_name="name",
        empty_label=None,
    )
    bore_mm = mm_field(_("Bore, mm"))
    base_mark = LineField(label=_("Mark of the bases"), max_length=40, required=False)
    priority = forms.IntegerField(label=_("Priority"), min_value=1, max_value=9, initial=1)

    def change(self) -> Change:
        given = self.cleaned_data
        return AddJob(
            reference=given["reference"],
            depot=given["depot"].code,
            load_on=given["load_on"],
            return_on=given["return_on"],
            arrangement=given["arrangement"].name,
            bore_mm=given["bore_mm"],
            base_mark=self._text("base_mark"),
            priority=given["priority"],
        )


class JobField(forms.ModelChoiceField):
    def __init__(self) -> None:
        super().__init__(Job.objects.none(), to_field_name="reference", label=_("Job"))

    def label_from_instance(self, job: Job) -> str:
        return f"{job.reference}, {job.load_on:%d.%m.} – {job.return_on:%d.%m.}"


class MoveJobForm(ChangeForm):
    job = JobField()
    load_on = day_field(_("Load on"))
    return_on = day_field(_("Return on"))

    def change(self) -> Change:
        given = self.cleaned_data
        return MoveJob(given["job"].reference, given["load_on"], given["return_on"])


class CancelJobForm(ChangeForm):
    job = JobField()

    def change(self) -> Change:
        return CancelJob(self.cleaned_data["job"].reference)


class BuyForm(ChangeForm):
    kind = NameField(Kind.objects.all(), to_field_name="name", label=_("Kind"))
    pieces = forms.IntegerField(label=_("How many"), min_value=1, max_value=PIECES_MOST, initial=1)
    depot = depot_field()
    comes_on = day_field(_("Comes on"), help_text=_("It can load from the day after."))
    bore_min_mm = mm_field(_("Range from, mm"))
    bore_max_mm = mm_field(_("Range to, mm"))
    mark = LineField(label=_("Mark"), max_length=40, required=False)
    use_by = day_field(_("Use by"), required=False)

    def change(self) -> Change:
        given = self.cleaned_data
        return Buy(
            kind=given["kind"].name,
            pieces=given["pieces"],
            depot=given["depot"].code,
            comes_on=given["comes_on"],
            bore_min_mm=given["bore_min_mm"],
            bore_max_mm=given["bore_max_mm"],
            mark=self._text("mark"),
            use_by=given["use_by"],
        )


class PieceForm(ChangeForm):
    """A form about one piece at one of the person's depots."""

    tag = LineField(label=_("Tag"), max_length=60)

    def clean_tag(self) -> str:
        tag = str(self.cleaned_data["tag"])
        if not Item.objects.filter(tag=tag, depot__in=self.own).exclude(state=State.WITHDRAWN).exists():
            raise forms.ValidationError(
                _("There is no piece of this tag in use at your depots: read the tag again.")
            )
        return tag


class WithdrawForm(PieceForm):
    def change(self) -> Change:
        return WithdrawPiece(self.cleaned_data["tag"])


class TransferForm(PieceForm):
    to_depot = depot_field(_("To depot"))
    arrives_on = day_field(_("Arrives on"), help_text=_("It can load there from the day after."))

    def clean_tag(self) -> str:
        tag = super().clean_tag()
        if not Item.objects.filter(tag=tag, custody=Custody.STORE, state=State.AVAILABLE).exists():
            raise forms.ValidationError(_("This piece is not in the store ready to be sent: choose another."))
        return tag

    def change(self) -> Change:
        given = self.cleaned_data
        return TransferPiece(given["tag"], given["to_depot"].code, given["arrives_on"])


class CloseBenchForm(ChangeForm):
    depot = depot_field()
    first = day_field(_("From"))
    last = day_field(_("To"))

    def change(self) -> Change:
        given = self.cleaned_data
        return CloseBench(given["depot"].code, given["first"], given["last"])


class SetBenchForm(ChangeForm):
    depot = depot_field()
    a_day = forms.IntegerField(
        label=_("Inspections a day"),
        min_value=0,
        max_value=BENCH_MOST,
        help_text=_("How many the plan may count on to be done in time; 0: none."),
    )

    def change(self) -> Change:
        return SetBench(self.cleaned_data["depot"].code, self.cleaned_data["a_day"])


# In the address, what the change is called, and its form.
FORMS: dict[str, tuple[Any, type[ChangeForm]]] = {
    "add-job": (_("Add a job"), AddJobForm),
    "move-job": (_("Move a job"), MoveJobForm),
    "cancel-job": (_("Call a job off"), CancelJobForm),
    "buy": (_("Buy pieces"), BuyForm),
    "lose": (_("Lose a piece"), WithdrawForm),
    "transfer": (_("Send a piece to another depot"), TransferForm),
    "close-bench": (_("Close a bench"), CloseBenchForm),
    "bench": (_("Change what a bench does a day"), SetBenchForm),
}
