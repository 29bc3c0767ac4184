"""Change one check of a kind: the rule as a form, what the change would bring about, and the change itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from django.utils.translation import gettext as _

from inspections.actions import CheckSpec, set_checks
from inspections.actions.regimes import rule_on, states_first_rule
from inspections.forms.checks import RuleForm, WhenForm
from inspections.models import EVER, Check
from inspections.preview import Preview, preview
from inspections.preview_words import (
    checks_in_words,
    counts_in_words,
    effect_in_words,
    preview_workbook,
    until_in_words,
)
from inspections.views.checks import shown_checks
from inspections.views.checks_words import differences_in_words
from kit.models import Kind
from kit.sentences import said as in_words
from kit.stores import NotAllowed, acting
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import must

SOURCE = "checks screen"
MOST_SHOWN = 200
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
# What the buttons say: show or write out what a change or the end of the check would bring, or make it so.
SHOW, SHEET, APPLY = "show", "sheet", "apply"


@dataclass(frozen=True)
class Asked:
    """What was sent: the rule (None to drop the check) and from when."""

    rule: RuleForm | None
    when: WhenForm
    check: Check | None

    @property
    def specs(self) -> list[CheckSpec]:
        return [self.rule.spec()] if self.rule else []

    @property
    def dropped(self) -> list[str]:
        return [self.check.name] if self.rule is None and self.check else []


@at_desk("set checks")
def new_check(request: HttpRequest, number: int) -> HttpResponse:
    """A further check of a kind."""
    return _change(request, get_object_or_404(Kind, pk=number), None)


@at_desk("set checks")
def change_check(request: HttpRequest, number: int, check: int) -> HttpResponse:
    """One check of a kind: another rule, or asked for no more."""
    kind = get_object_or_404(Kind, pk=number)
    return _change(request, kind, get_object_or_404(Check, pk=check, kind=kind))


def _change(request: HttpRequest, kind: Kind, check: Check | None) -> HttpResponse:
    sent = request.POST if request.method == "POST" else None
    drops = sent is not None and sent.get("what") == "drop" and check is not None
    said = {"first_rule": states_first_rule(kind), "kind": kind, "today": request.desk.today}
    rule = RuleForm(None if drops else sent, kind=kind, check=check)
    change_when = WhenForm(None if drops else sent, **said)
    drop_when = WhenForm(sent if drops else None, auto_id="drop_%s", **said)
    when = drop_when if drops else change_when
    if sent is not None:
        must(request, "set checks", request.desk.depot)
        # Both are looked at, so that all that is wrong is said at once.
        sound = [form.is_valid() for form in ([when] if drops else [rule, when])]
        answers: dict[str, Callable[..., HttpResponse]] = {SHOW: _show, SHEET: _sheet, APPLY: _apply}
        answer = answers.get(sent.get("do", ""))
        if all(sound) and answer is not None:
            try:
                return answer(request, kind, Asked(None if drops else rule, when, check))
            except NotAllowed as refusal:
                when.add_error(None, str(refusal))
    context = {
        "kind": kind,
        "check": check,
        "rule": rule,
        "when": change_when,
        "drop": drop_when,
        "coming": [
            one
            for shown in shown_checks(kind, request.desk.today)
            if check is not None and shown.check.pk == check.pk
            for one in shown.coming
        ],
    }
    return render(request, "checks/change.html", context)


def _foretell(request: HttpRequest, kind: Kind, asked: Asked) -> Preview:
    from_day = asked.when.cleaned_data["from_day"]
    return preview(kind, asked.specs, from_day, request.desk.today, asked.dropped)


def _show(request: HttpRequest, kind: Kind, asked: Asked) -> HttpResponse:
    """What the change would bring about; what was typed goes along, so that it can be made or gone back on."""
    found = _foretell(request, kind, asked)
    own = {depot.pk for depot in request.desk.depots}
    jobs = [one for one in found.broken if not one.is_out]
    moved = found.moved
    context: dict[str, Any] = {
        "kind": kind,
        "check": asked.check,
        "name": asked.check.name if asked.check else asked.specs[0].name,
        "found": found,
        "from_day": asked.when.cleaned_data["from_day"],
        "always": found.start == EVER,
        "why": asked.when.cleaned_data["why"],
        "differs": [
            row
            for change in found.changes
            for row in differences_in_words(
                None if asked.check is None else rule_on(asked.check, found.start),
                change.version(1, found.start, request.desk.today),
            )
        ],
        "counts": counts_in_words(found),
        "rows": [
            (
                move,
                move.item.depot_id in own,
                effect_in_words(move),
                list(checks_in_words(move)),
                until_in_words(move.before),
                until_in_words(move.after),
            )
            for move in moved[:MOST_SHOWN]
        ],
        "left_out": max(0, len(moved) - MOST_SHOWN),
        "broken": jobs[:MOST_SHOWN],
        "out": [one for one in found.broken if one.is_out][:MOST_SHOWN],
        "own": own,
        "typed": [
            (name, value)
            for name, values in request.POST.lists()
            if name not in ("csrfmiddlewaretoken", "do")
            for value in values
        ],
    }
    return render(request, "checks/preview.html", context)


def _sheet(request: HttpRequest, kind: Kind, asked: Asked) -> HttpResponse:
    """The same as a spreadsheet, of all items."""
    content = preview_workbook(_foretell(request, kind, asked), request.user.get_username())
    answer = HttpResponse(content, content_type=XLSX)
    name = f"change of checks {slugify(kind.name)} {request.desk.today.isoformat()}.xlsx"
    answer["Content-Disposition"] = content_disposition_header(True, name)
    return answer


def _apply(request: HttpRequest, kind: Kind, asked: Asked) -> HttpResponse:
    """Make the change, and say what came of it."""
    said = asked.when.cleaned_data
    before = broken_now()
    with acting(request.desk.who(SOURCE)) as act:
        changed = set_checks(
            act, kind, asked.specs, from_day=said["from_day"], why=said["why"], dropped=asked.dropped
        )
    if changed:
        messages.success(
            request,
            _(
                "The checks of %(kind)s are recorded, and all due dates follow them. Past verdicts stay as they are."
            )
            % {"kind": in_words(kind.name)},
        )
        say_what_broke(request, before)
    else:
        messages.info(request, _("Nothing differs from what was recorded."))
    return redirect("kind_checks", kind.pk)
