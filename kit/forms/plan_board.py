"""Which days of the plan are shown and how, and the days to which a job is to be moved."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.job import refuse_back_before_loaded
from kit.forms.job_filter import day_input
from kit.models import Job, JobState

MOST_WEEKS = 8
USUAL_WEEKS = 4
BY = [("job", gettext_lazy("loading day")), ("crew", gettext_lazy("crew"))]


class BoardForm(forms.Form):
    """What the board shows; anything left out is as usual: from this week on, four weeks, by loading day."""

    first = forms.DateField(label=gettext_lazy("Week of"), required=False, widget=day_input())
    weeks = forms.IntegerField(label=gettext_lazy("Weeks"), required=False, min_value=1, max_value=MOST_WEEKS)
    by = forms.ChoiceField(label=gettext_lazy("In order of"), choices=BY, required=False)
    crew = forms.ChoiceField(label=gettext_lazy("Crew"), required=False)

    def __init__(self, *args: Any, crews: list[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["crew"].choices = [("", _("all")), *((crew, crew) for crew in crews)]

    def asked(self, first: date) -> dict[str, Any]:
        """What is to be shown: values that are no good are as if they had been left out, and the form says so."""
        self.is_valid()
        good = self.cleaned_data if self.is_bound else {}
        return {
            "first": good.get("first") or first,
            "weeks": good.get("weeks") or USUAL_WEEKS,
            "by": good.get("by") or "job",
            "crew": good.get("crew") or None,
        }


class MoveForm(forms.Form):
    """The days to which a job is to be moved, and what was looked at before: the job's revision, what gives."""

    load_on = forms.DateField(label=gettext_lazy("Load on"), widget=day_input())
    return_on = forms.DateField(label=gettext_lazy("Return on"), widget=day_input())
    revision = forms.IntegerField(required=False, widget=forms.HiddenInput)
    gives = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(self, *args: Any, job: Job, **more: Any) -> None:
        initial = {"load_on": job.load_on, "return_on": job.return_on}
        super().__init__(*args, initial=initial, **more)
        if job.state == JobState.OUT:
            # It has been loaded: only its return can move.
            self.fields["load_on"].disabled = True
            self.fields["load_on"].help_text = _("It is out already: only its return can move.")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        refuse_back_before_loaded(self, data)
        return data
