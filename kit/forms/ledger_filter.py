"""What the ledger can be narrowed by."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from kit.forms.choices import said
from kit.forms.item_acts import day_input
from kit.models import Deed, LedgerEntry

SUBJECTS = ("item", "job", "depot", "kind", "arrangement")


class LedgerFilter(forms.Form):
    about = forms.CharField(
        label=_("Tag or job"),
        max_length=120,
        required=False,
        help_text=_("As it is spelt. Or item:TAG, job:REFERENCE."),
    )
    deed = forms.ChoiceField(
        label=_("What was done"), choices=[("", _("anything")), *said(Deed.choices)], required=False
    )
    actor = forms.CharField(
        label=_("By whom"), max_length=150, required=False, help_text=_("The name to sign in.")
    )
    since = forms.DateField(label=_("Recorded since"), required=False, widget=day_input())

    def narrow(self, entries: QuerySet[LedgerEntry]) -> QuerySet[LedgerEntry]:
        """The entries asked for, as far as the form can be read."""
        asked: dict[str, Any] = self.cleaned_data if self.is_valid() else {}
        if about := asked.get("about"):
            names = [about] if about.partition(":")[0] in SUBJECTS else []
            names += [f"{what}:{about}" for what in SUBJECTS]
            entries = entries.filter(mentions__about__in=names).distinct()
        if asked.get("deed"):
            entries = entries.filter(deed=asked["deed"])
        if asked.get("actor"):
            entries = entries.filter(actor=asked["actor"])
        if asked.get("since"):
            entries = entries.filter(recorded_at__date__gte=asked["since"])
        return entries
