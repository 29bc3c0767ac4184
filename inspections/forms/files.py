"""A photo or certificate that is attached."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.models import MOST_BYTES
from kit.forms.item import LineField


class AttachForm(forms.Form):
    """One file: taken by the phone's camera, or chosen. What it is, its content says, not its name."""

    photo = forms.FileField(
        label=gettext_lazy("Take a photo"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    file = forms.FileField(
        label=gettext_lazy("Choose a file"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"}),
        help_text=gettext_lazy("A JPEG, PNG or WebP picture or a PDF, of 8 MB at most."),
    )
    note = LineField(
        label=gettext_lazy("What it shows"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("Stands under a photo, and is read out to whoever cannot see it."),
    )
    # Which record or case it belongs to, and the page to go back to.
    inspection = forms.IntegerField(required=False, widget=forms.HiddenInput)
    case = forms.IntegerField(required=False, widget=forms.HiddenInput)
    next = forms.CharField(required=False, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        chosen = [one for one in (data.get("photo"), data.get("file")) if one]
        if not chosen and not self.errors:
            self.add_error("file", _("Choose a file first."))
        for one in chosen:
            # Read into memory only what may be kept; the action says the same of anything that gets by.
            if one.size > MOST_BYTES:
                self.add_error(
                    "photo" if one is data.get("photo") else "file",
                    _("%(name)s has %(size).1f MB, and %(most)d MB is the most: take it with fewer pixels.")
                    % {"name": one.name, "size": one.size / 1e6, "most": MOST_BYTES // 1_000_000},
                )
        return data

    @property
    def chosen(self) -> list[Any]:
        """The files that were sent, one or two."""
        return [one for one in (self.cleaned_data["photo"], self.cleaned_data["file"]) if one]
