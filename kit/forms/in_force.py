"""Which filters of a list are in force, and the address of the list without each of them."""

from __future__ import annotations

from datetime import date

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _

from kit.days import date_format


def filters_in_force(
    form: forms.Form, query: QueryDict, leave_out: frozenset[str] = frozenset()
) -> list[dict[str, str]]:
    """[{text, url}] for the filters that a bound, valid form holds.

    In each address that filter is empty, not absent: where an absent one means the usual, empty means all.
    """
    if not form.is_bound or not form.is_valid():
        return []
    listed = []
    for name, field in form.fields.items():
        value = form.cleaned_data.get(name)
        if value in (None, "", False) or name in leave_out:
            continue
        left = query.copy()
        left[name] = ""
        left.pop("page", None)
        listed.append({"text": f"{field.label}: {shown(field, value)}", "url": f"?{left.urlencode()}"})
    return listed


def shown(field: forms.Field, value: object) -> str:
    """The value of a filter in words."""
    if value is True:
        return _("yes")
    if isinstance(value, date):
        return date_format(value, "j M Y")
    if isinstance(value, str):
        return str(dict(getattr(field, "choices", ())).get(value, value))
    return str(value)
