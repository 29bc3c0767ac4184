"""An arrangement as a form: its name, where it comes from, and its lines in order."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.choices import NameField, said
from kit.forms.item import LineField
from kit.models import Arrangement, Kind, Match, Side
from kit.stores import Instead, LineSpec, faults_of, specs_of
from kit.stores.arrange import MOST_INSTEAD

SPARE_LINES = 3
MOST_LINES = 60
LEAST_INSTEAD = 3
"""How many kinds that may stand in a row asks for, be there so many or not."""
PREFIX = "line"
NTH = tuple(
    gettext_lazy(nth)
    for nth in ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
)
"""In which order what may stand in is taken, for as many as a line may name."""


class ArrangementForm(forms.Form):
    name = LineField(
        label=gettext_lazy("Name"),
        max_length=120,
        help_text=gettext_lazy(
            "The same name makes the next version; another name makes an arrangement of your own."
        ),
    )
    source = LineField(
        label=gettext_lazy("Where it comes from"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("For example the operator's procedure, with its number and issue."),
    )
    note = LineField(label=gettext_lazy("Note"), max_length=1000, required=False)


class LineForm(forms.Form):
    """One line; a row with nothing in it is left out."""

    name = LineField(label=gettext_lazy("Line"), max_length=80, required=False)
    kind = NameField(
        Kind.objects.none(),
        to_field_name="name",
        label=gettext_lazy("Kind"),
        empty_label=gettext_lazy("choose"),
        required=False,
    )
    quantity = forms.IntegerField(label=gettext_lazy("Quantity"), min_value=1, max_value=1000, required=False)
    match = forms.ChoiceField(
        label=gettext_lazy("Must match"), choices=said(Match.choices), initial=Match.ANY, required=False
    )
    note = LineField(label=gettext_lazy("Note"), max_length=500, required=False)
    side = forms.ChoiceField(
        label=gettext_lazy("Which main"),
        choices=said(Side.choices),
        initial=Side.EVERY,
        required=False,
        help_text=gettext_lazy("Where the main differs on the two sides of the job."),
    )
    assembly = LineField(
        label=gettext_lazy("Assembly"),
        max_length=40,
        required=False,
        help_text=gettext_lazy("Lines of one assembly are made up into units whose pieces share a mark."),
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        kinds = Kind.objects.all()
        self.fields["kind"].queryset = kinds
        for place in range(1, self._places() + 1):
            nth = NTH[place - 1]
            self.fields[f"instead_{place}"] = NameField(
                kinds,
                to_field_name="name",
                label=_("May stand in, taken %(nth)s") % {"nth": nth},
                empty_label=_("nothing"),
                required=False,
            )
            self.fields[f"instead_note_{place}"] = LineField(
                label=_("Note on what is taken %(nth)s") % {"nth": nth}, max_length=200, required=False
            )

    def _places(self) -> int:
        """How many kinds may be named: as many as are there, typed or recorded, and three at least."""
        there = [
            place
            for place in range(1, MOST_INSTEAD + 1)
            if self.add_prefix(f"instead_{place}") in self.data or f"instead_{place}" in self.initial
        ]
        return max(LEAST_INSTEAD, *there, 0)

    @property
    def plain_fields(self) -> list[forms.BoundField]:
        """What every line needs."""
        return [field for field in self if not _is_further(field.name)]

    @property
    def further_fields(self) -> list[forms.BoundField]:
        """What few lines need: side, assembly, what may stand in."""
        return [field for field in self if _is_further(field.name)]

    @property
    def goes_further(self) -> bool:
        """Whether anything of that is given or wrong, so that it must not be folded away."""
        usual = ("", None, Side.EVERY)
        return any(field.errors or field.value() not in usual for field in self.further_fields)

    @property
    def instead(self) -> tuple[Instead, ...]:
        """The kinds that may stand in, as cleaned, the one taken first in front."""
        data = self.cleaned_data
        return tuple(
            Instead(kind, data.get(f"instead_note_{place}", ""))
            for place in range(1, self._places() + 1)
            if (kind := data.get(f"instead_{place}")) is not None
        )

    @property
    def spec(self) -> LineSpec:
        data = self.cleaned_data
        return LineSpec(
            data["name"],
            data["kind"],
            data["quantity"],
            data.get("match") or Match.ANY,
            data.get("note", ""),
            data.get("side") or Side.EVERY,
            data.get("assembly", ""),
            self.instead,
        )

    @property
    def given_up(self) -> bool:
        """Whether the row holds nothing, or is ticked to be taken out."""
        data = self.cleaned_data
        return bool(data.get("DELETE")) or not (data.get("name") or data.get("kind") or data.get("quantity"))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.given_up or self.errors:
            return data
        if not data.get("name"):
            self.add_error("name", _("Name the line: what the piece is for."))
        if not data.get("kind"):
            self.add_error("kind", _("Say of which kind."))
        if not data.get("quantity"):
            self.add_error("quantity", _("Say how many."))
        for place in range(1, self._places() + 1):
            if data.get(f"instead_note_{place}") and not data.get(f"instead_{place}"):
                self.add_error(f"instead_{place}", _("Say of which kind, or leave the note on it empty."))
        return data


class BaseLines(forms.BaseFormSet):
    def add_fields(self, form: forms.Form, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["ORDER"].label = gettext_lazy("Place in the order")
        form.fields["DELETE"].label = gettext_lazy("Take this line out")

    def clean(self) -> None:
        if any(self.errors):
            return
        names = [form.cleaned_data["name"].casefold() for form in self.rows()]
        if not names:
            raise forms.ValidationError(_("An arrangement needs at least one line."))
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise forms.ValidationError(
                _("Two lines are called %(names)s: give each a name of its own."),
                params={"names": ", ".join(twice)},
            )
        rows = self.rows()
        for fault in faults_of([row.spec.asked for row in rows]):
            rows[fault.place].add_error("assembly" if fault.of == "assembly" else "instead_1", fault.why)

    def rows(self) -> list[LineForm]:
        """The rows that hold a line, in the order asked for."""
        kept = [
            (form.cleaned_data.get("ORDER"), place, form)
            for place, form in enumerate(self.forms)
            if not form.given_up
        ]
        kept.sort(key=lambda row: (row[0] is None, row[0] or 0, row[1]))
        return [form for _order, _place, form in kept]

    def specs(self) -> list[LineSpec]:
        return [row.spec for row in self.rows()]


def _is_further(name: str) -> bool:
    return name in ("side", "assembly") or name.startswith("instead_")


def lines_of(arrangement: Arrangement | None) -> list[dict[str, Any]]:
    """The lines of an arrangement as initial values."""
    if arrangement is None:
        return []
    return [
        {
            "name": line.name,
            "kind": line.kind.name,
            "quantity": line.quantity,
            "match": line.match,
            "note": line.note,
            "side": line.side,
            "assembly": line.assembly,
            **{f"instead_{place}": other.kind.name for place, other in enumerate(line.instead, 1)},
            **{f"instead_note_{place}": other.note for place, other in enumerate(line.instead, 1)},
        }
        for line in specs_of(arrangement)
    ]


def as_typed(data: QueryDict) -> list[dict[str, Any]]:
    """The rows of a form that was sent, as initial values in the order asked for, without those taken out."""
    count = data.get(f"{PREFIX}-TOTAL_FORMS", "")
    rows = []
    for index in range(min(int(count[:3]) if count.isdigit() else 0, MOST_LINES)):
        row = {name: data.get(f"{PREFIX}-{index}-{name}", "") for name in LineForm.base_fields}
        for place in range(1, MOST_INSTEAD + 1):
            for name in (f"instead_{place}", f"instead_note_{place}"):
                if typed := data.get(f"{PREFIX}-{index}-{name}", ""):
                    row[name] = typed
        order = data.get(f"{PREFIX}-{index}-ORDER", "")
        if any(row[name] for name in ("name", "kind", "quantity")) and not data.get(
            f"{PREFIX}-{index}-DELETE"
        ):
            rows.append((int(order[:6]) if order.isdigit() else 10**6, index, row))
    return [row for _order, _index, row in sorted(rows, key=lambda each: each[:2])]


def lines_formset(spare: int = SPARE_LINES) -> type[BaseLines]:
    return forms.formset_factory(
        LineForm,
        formset=BaseLines,
        extra=spare,
        can_order=True,
        can_delete=True,
        max_num=MOST_LINES,
        absolute_max=MOST_LINES + 20,
        validate_max=True,
    )
