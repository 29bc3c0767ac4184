"""For all templates: `{{ reason.text|said }}`, a sentence of the program in the language of the page, and `date` with
the points that the language puts.

`{{ item.kind|said }}` says the name of a kind or a check likewise, if it is a shipped one; of a list each is said.
`{{ item.fit_reason|reason_said }}` writes the days of a reason as well.
"""

from __future__ import annotations

from typing import Any

from django import template
from django.db.models import Model

from kit.days import for_template
from kit.sentences import said
from kit.tables.reasons_said import reason_said

register = template.Library()


def said_on_page(value: Any) -> Any:
    """Text, or a row by its name; anything else is given back untouched."""
    if isinstance(value, (list, tuple)):
        return [said_on_page(one) for one in value]
    return said(str(value)) if isinstance(value, Model) else said(value)


register.filter("said", said_on_page, is_safe=False)
register.filter("reason_said", reason_said, is_safe=False)
register.filter("date", for_template, expects_localtime=True, is_safe=False)
