"""The rule of a check as a form: when it is due, what calls for it, its limits, who does it, where it comes from."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import DecimalValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.actions import CheckSpec
from inspections.forms.readings import ReadingField
from inspections.judging import UNITS, Interval, IntervalFault
from inspections.models import RULE_COLUMNS, Basis, Check, DecisionRule, Method
from inspections.models.check import RuleColumns
from kit.forms.choices import said
from kit.forms.item import LineField
from kit.forms.item_acts import day_input
from kit.models import Kind
from kit.roles import ROLE_SAID

MOST_DAYS = 3650
MOST_USES = 10_000
PRINTED = ("max_pressure", "max_drop", "guard")
"""What may be printed on gauges for further units."""

NEEDS: dict[str, tuple[str, ...]] = {
    Method.HOLD_TEST: ("unit", "max_drop"),
    Method.CALIBRATION: ("unit", "accuracy_class", "span"),
}

GROUPS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (
        gettext_lazy("When it is due"),
        ("interval", "basis", "early_days", "gates", "grace_days", "concession_days"),
    ),
    (
        gettext_lazy("What calls for it besides"),
        ("after_use", "after_uses", "after_repair", "after_quarantine", "after_storage"),
    ),
    (
        gettext_lazy("Method and limits"),
        (
            "method",
            "unit",
            "max_pressure",
            "max_drop",
            "hold_minutes",
            "guard",
            "decision",
            "accuracy_class",
            "span",
        ),
    ),
    (
        gettext_lazy("Limits printed for other units"),
        tuple(f"{unit}_{name}" for unit in UNITS for name in PRINTED),
    ),
    (gettext_lazy("Of which items it is asked"), ("mark", "maker", "batch")),
    (gettext_lazy("Who may do it"), ("done_by",)),
    (gettext_lazy("Where it comes from"), ("source", "procedure")),
)


class LimitField(ReadingField):
    """A limit of 0 or more that its column can hold to the last figure."""

    def __init__(self, digits: int = 12, places: int = 6, **settings: Any) -> None:
        super().__init__(**{"required": False, **settings})
        self._fits = DecimalValidator(digits, places)

    def clean(self, value: Any) -> Decimal | None:
        number = super().clean(value)
        if number is None:
            return None
        if number < 0:
            raise ValidationError(_("A limit is 0 or more."))
        self._fits(number)
        return number


class DurationField(LineField):
    """An ISO 8601 duration, as it is kept."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**{"max_length": 20, "required": False, **settings})

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        if not text:
            return ""
        try:
            return str(Interval.parse(text))
        except IntervalFault as fault:
            raise ValidationError(str(fault)) from None


def _days(label: Any, help_text: Any = "") -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=0, max_value=MOST_DAYS, required=False, help_text=help_text
    )


class RuleForm(forms.Form):
    """One check of a kind. The name of a check that is there already stays what it is: records point at it."""

    name = LineField(
        label=gettext_lazy("Check"),
        max_length=80,
        widget=forms.TextInput(attrs={"autofocus": True}),
        help_text=gettext_lazy("What people call it. It cannot be given another name later."),
    )
    interval = DurationField(
        label=gettext_lazy("Due every"),
        help_text=gettext_lazy("P6M is 6 months, P90D 90 days, P2W a fortnight, P1Y a year."),
    )
    basis = forms.ChoiceField(label=gettext_lazy("Counted"), choices=said(Basis.choices), required=False)
    early_days = _days(
        gettext_lazy("May be early by, days"),
        gettext_lazy("Only on a fixed grid: done so early it still counts for the next day of the grid."),
    )
    gates = forms.BooleanField(label=gettext_lazy("Without it the item does not go out"), required=False)
    grace_days = _days(
        gettext_lazy("Grace, days"),
        gettext_lazy("Late, but not yet missed. Only for a check without which an item may go out."),
    )
    concession_days = _days(
        gettext_lazy("A concession may put it off by, days"), gettext_lazy("0: it may not be put off.")
    )
    after_use = forms.BooleanField(label=gettext_lazy("Each use calls for it"), required=False)
    after_uses = forms.IntegerField(
        label=gettext_lazy("So many uses call for it"),
        min_value=0,
        max_value=MOST_USES,
        required=False,
        help_text=gettext_lazy("0 or empty: uses are not counted."),
    )
    after_repair = forms.BooleanField(label=gettext_lazy("A repair calls for it"), required=False)
    after_quarantine = forms.BooleanField(label=gettext_lazy("Being set aside calls for it"), required=False)
    after_storage = DurationField(
        label=gettext_lazy("So long in store without use"),
        help_text=gettext_lazy("P3M: three months after it was last checked or used. Empty: never."),
    )
    method = forms.ChoiceField(label=gettext_lazy("Judged as"), choices=said(Method.choices), required=False)
    unit = forms.ChoiceField(
        label=gettext_lazy("Limits are in"),
        choices=[("", gettext_lazy("no unit")), *((unit, unit) for unit in UNITS)],
        required=False,
    )
    max_pressure = LimitField(label=gettext_lazy("Highest test pressure"))
    max_drop = LimitField(label=gettext_lazy("Largest drop"))
    hold_minutes = LimitField(8, 3, label=gettext_lazy("Held for at least, minutes"))
    guard = LimitField(
        label=gettext_lazy("Guard"),
        help_text=gettext_lazy("What the reading may be off. Closer to the limit than this is a doubt."),
    )
    decision = forms.ChoiceField(
        label=gettext_lazy("How the guard counts"), choices=said(DecisionRule.choices), required=False
    )
    accuracy_class = LimitField(
        8, 4, label=gettext_lazy("Accuracy class"), help_text=gettext_lazy("Of a gauge: % of its span.")
    )
    span = LimitField(label=gettext_lazy("Span"))
    mark = LineField(label=gettext_lazy("Only of mark"), max_length=40, required=False)
    maker = LineField(label=gettext_lazy("Only of maker"), max_length=80, required=False)
    batch = LineField(label=gettext_lazy("Only of batch"), max_length=80, required=False)
    done_by = forms.ChoiceField(
        label=gettext_lazy("Only by"),
        choices=[("", gettext_lazy("whoever may inspect there")), *ROLE_SAID.items()],
        required=False,
    )
    source = LineField(
        label=gettext_lazy("Rule or standard that asks for it"), max_length=200, required=False
    )
    procedure = LineField(
        label=gettext_lazy("Procedure and its version"),
        max_length=80,
        required=False,
        help_text=gettext_lazy("As it is called on paper, for example HT 4 issue 2."),
    )

    def __init__(self, *args: Any, kind: Kind, check: Check | None, **more: Any) -> None:
        self.kind, self.check = kind, check
        super().__init__(
            *args, initial=_initial(check or Check(kind=kind, after_use=kind.check_after_use)), **more
        )
        for unit in UNITS:
            for name in PRINTED:
                label = f"{self.fields[name].label}, {unit}"
                self.fields[f"{unit}_{name}"] = LimitField(label=label)
        if check is not None:
            del self.fields["name"]

    @property
    def groups(self) -> Iterator[tuple[Any, list[forms.BoundField]]]:
        """(heading, fields) in the order of the page."""
        for heading, names in GROUPS:
            yield heading, [self[name] for name in names]

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if name.casefold() == "use-by":
            raise ValidationError(
                _("use-by is the name of the use-by date in the due list: give the check another name.")
            )
        there = Check.objects.filter(kind=self.kind, name__iexact=name).first()
        if there is not None:
            raise ValidationError(
                _("%(kind)s has a check called %(name)s already: change that one.")
                % {"kind": self.kind, "name": there.name}
            )
        return name

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not data.get("interval") and "interval" not in self.errors:
            self.add_error("interval", _("Say how often it is due: P6M is 6 months, P1Y a year."))
        if data.get("early_days") and data.get("basis") != Basis.ANCHOR:
            self.add_error(
                "early_days",
                _("Counted from the day done nothing can be early: leave this empty, or take the grid."),
            )
        if data.get("grace_days") and data.get("gates"):
            self.add_error(
                "grace_days",
                _("A piece past its gate does not go out: leave this empty, or let it go out without."),
            )
        for name in NEEDS.get(data.get("method", ""), ()):
            if data.get(name) in (None, "") and name not in self.errors:
                self.add_error(name, _("The verdict is computed from it: give what is printed."))
        for name in PRINTED:
            own = f"{data.get('unit')}_{name}"
            if data.get(own) is not None:
                self.add_error(own, _("The limits above are in this unit already: keep one of the two."))
        for name in ("max_pressure", "hold_minutes", "accuracy_class", "span"):
            if data.get(name) == 0:
                self.add_error(name, _("Nothing can be judged against 0: give what is printed."))
        return data

    def spec(self) -> CheckSpec:
        """The check as it is to be; its readings stay as they are."""
        data = self.cleaned_data
        name = self.check.name if self.check else data["name"]
        blank = Check()
        said: dict[str, Any] = {}
        for column in RULE_COLUMNS:
            if column in data:
                value = data[column]
                said[column] = getattr(blank, column) if value in (None, "") else value
        said["other_limits"] = self._other_limits()
        if data["concession_days"] is None:
            said["concession_days"] = 0
        emptied = frozenset(column for column, value in said.items() if value is None)
        return CheckSpec(name, **said, emptied=emptied)

    def _other_limits(self) -> dict[str, dict[str, str]]:
        data = self.cleaned_data
        found = {}
        for unit in UNITS:
            printed = {
                name: format(data[f"{unit}_{name}"].normalize(), "f")
                for name in PRINTED
                if data.get(f"{unit}_{name}") is not None
            }
            if printed:
                found[unit] = printed
        return found


class WhenForm(forms.Form):
    """From which day a change holds, and why it is made."""

    from_day = forms.DateField(label=gettext_lazy("From"), required=False, widget=day_input())
    why = LineField(
        label=gettext_lazy("Why it is changed"),
        max_length=400,
        help_text=gettext_lazy("Goes into the ledger and stands beside the version for ever."),
    )

    def __init__(self, *args: Any, first_rule: bool, kind: Kind, today: date, **more: Any) -> None:
        super().__init__(*args, **more)
        self.today = today
        self.fields["from_day"].widget.attrs["min"] = today.isoformat()
        self.fields["from_day"].help_text = (
            _("Empty: for every day, as it is the first rule of your own for %(kind)s.") % {"kind": kind}
            if first_rule
            else _("Empty: from today. The rules in force on a day judge that day, so no day in the past.")
        )

    def clean_from_day(self) -> date | None:
        day: date | None = self.cleaned_data["from_day"]
        if day is not None and day < self.today:
            raise ValidationError(
                _("This day is past, and the rules in force on it judge it: give today or a later day.")
            )
        return day


def _initial(rule: RuleColumns) -> dict[str, Any]:
    """The rule as its fields show it."""
    shown = {name: getattr(rule, name) for name in RULE_COLUMNS if name not in ("form", "other_limits")}
    for name, value in shown.items():
        if isinstance(value, Decimal):
            shown[name] = format(value.normalize(), "f")
    for unit, printed in rule.other_limits.items():
        shown |= {f"{unit}_{name}": printed.get(name) or "" for name in PRINTED}
    return shown
