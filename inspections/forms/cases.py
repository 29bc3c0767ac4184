"""What is entered while a quarantine case is worked on; the actions say what is missing."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspections.models import NoteKind


def _text(label: Any, rows: int = 3, **more: Any) -> forms.CharField:
    return forms.CharField(label=label, max_length=1000, widget=forms.Textarea(attrs={"rows": rows}), **more)


class NoteForm(forms.Form):
    kind = forms.ChoiceField(
        label=_("What it is"),
        choices=[
            (NoteKind.FINDING, _("Finding: what was seen or measured")),
            (NoteKind.ACTION, _("Action: what was done")),
        ],
        initial=NoteKind.FINDING,
        widget=forms.RadioSelect,
    )
    text = _text(_("What was found or done"), help_text=_("Stays with the case under your name."))


class NoticeForm(forms.Form):
    text = _text(_("What you decided, and who was told"), rows=2)


class RestForm(forms.Form):
    text = _text(_("Why all the others may stay in use"), rows=2)


class RetestForm(forms.Form):
    """Turns the re-test on release off, with why, or on again (see `required`)."""

    text = _text(_("Why"), rows=2, required=False)
