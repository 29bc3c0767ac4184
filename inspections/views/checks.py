"""The checks of a kind: what is asked for, in words, each version of it, and what is asked for no more."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inspections.models import Check, CheckVersion
from inspections.views.checks_words import Facts, ShownVersion, rule_in_words, shown_versions
from kit.models import Kind
from kit.views.desk import at_desk


@dataclass(frozen=True)
class ShownCheck:
    """One check with its rule in words, or the one to come, and all its versions; `coming`: their day has not come."""

    check: Check
    facts: Facts
    versions: list[ShownVersion]

    @property
    def coming(self) -> list[ShownVersion]:
        return [version for version in self.versions if version.to_come][::-1]


@at_desk()
def kind_checks(request: HttpRequest, number: int) -> HttpResponse:
    """Those asked for, those that a later day will ask for, and those asked for no more."""
    kind = get_object_or_404(Kind, pk=number)
    shown = shown_checks(kind, request.desk.today)
    context: dict[str, Any] = {
        "kind": kind,
        "in_force": [one for one in shown if not one.check.retired],
        "to_come": [one for one in shown if one.check.retired and one.coming],
        "retired": [one for one in shown if one.check.retired and not one.coming],
        "may_set": request.desk.may("set checks"),
    }
    return render(request, "checks/page.html", context)


def shown_checks(kind: Kind, today: date) -> list[ShownCheck]:
    versions: dict[int, list[CheckVersion]] = {}
    for version in CheckVersion.objects.filter(of__kind=kind):
        versions.setdefault(version.of_id, []).append(version)
    shown = []
    for check in Check.objects.filter(kind=kind).order_by("name"):
        listed = shown_versions(versions.get(check.pk, []), today)
        one = ShownCheck(check, [] if check.retired else rule_in_words(check), listed)
        if check.retired and one.coming:
            one = replace(one, facts=rule_in_words(one.coming[0].version))
        shown.append(one)
    return shown
