"""Sides, assemblies and substitutes of an arrangement: kept by version, told by the ledger, or refused."""

from __future__ import annotations

import json

import pytest

from kit.models import Arrangement, ArrangementLine, Deed, Job, LedgerEntry, LineSubstitute, Standing
from kit.stores import (
    Instead,
    LineSpec,
    NotAllowed,
    Who,
    acting,
    change_job,
    prove_ledger,
    receive,
    reserve,
    set_arrangement,
    set_kind,
    specs_of,
)
from tests.kit.views.yard import Yard, bag, kind, yard

pytestmark = pytest.mark.django_db

PLANNER = Who("p.lane", "test")


@pytest.fixture
def made() -> Yard:
    return yard()


def stop(*more: LineSpec) -> list[LineSpec]:
    return [
        LineSpec(
            "bags", kind("bag"), 4, "bore", side="near", instead=(Instead(kind("nose"), "with a sleeve"),)
        ),
        LineSpec("heads", kind("bagging head"), 2, assembly="Head  unit"),
        LineSpec("bases", kind("base"), 4, "mark", assembly="head unit"),
        *more,
    ]


def test_a_version_keeps_them_and_is_made_only_where_they_differ(made: Yard) -> None:
    with acting(PLANNER) as act:
        first, new = set_arrangement(act, "stop", stop())
        assert new
        assert set_arrangement(act, "stop", stop()) == (first, False)
    rows = ArrangementLine.objects.filter(arrangement=first).order_by("position")
    assert list(rows.values_list("name", "side", "assembly")) == [
        ("bags", "near", ""),
        ("heads", "every", "Head unit"),
        ("bases", "every", "Head unit"),
    ]
    assert list(LineSubstitute.objects.values_list("line__name", "kind__name", "rank", "note")) == [
        ("bags", "nose", 1, "with a sleeve")
    ]
    before: dict[str, object] = {}
    for changed in (
        {"side": "far"},
        {"side": "far"},
        {"instead": ()},
        {"instead": (Instead(kind("pump")), Instead(kind("nose")))},
        {"instead": (Instead(kind("nose")), Instead(kind("pump")))},
        {"instead": (Instead(kind("nose"), "with a sleeve"), Instead(kind("pump")))},
    ):
        lines = [LineSpec(**{**_fields(line), **changed}) if line.name == "bags" else line for line in stop()]
        with acting(PLANNER) as act:
            _, new = set_arrangement(act, "stop", lines)
        assert new is (changed != before)
        before = changed
        proof = prove_ledger()
        assert proof.fault is None
    assert [other.kind.name for other in specs_of(_current())[0].instead] == ["nose", "pump"]


def _fields(line: LineSpec) -> dict[str, object]:
    return {name: getattr(line, name) for name in LineSpec.__slots__}


def _current() -> Arrangement:
    return Arrangement.objects.get(name="stop", current=True)


def test_the_ledger_tells_them_and_says_nothing_where_there_are_none(made: Yard) -> None:
    with acting(PLANNER) as act:
        set_arrangement(act, "stop", stop())
        set_arrangement(act, "plain", [LineSpec("bags", kind("bag"), 4, "bore")])
    of_stop, of_plain = (
        json.loads(entry.body)["facts"]
        for entry in LedgerEntry.objects.filter(deed=Deed.ARRANGED).order_by("number")[
            LedgerEntry.objects.filter(deed=Deed.ARRANGED).count() - 2 :
        ]
    )
    assert of_stop == {
        "sides": {"bags": "near"},
        "assemblies": {"Head unit": "heads + bases"},
        "instead": {"bags": "nose"},
    }
    assert of_plain == {}


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ([("heads", "bagging head", 2, "unit", "")], "heads is the only line of the assembly unit"),
        (
            [("heads", "bagging head", 2, "unit", ""), ("bases", "base", 3, "unit", "")],
            "make up no number of like units (2 × heads, 3 × bases)",
        ),
        (
            [("heads", "bagging head", 2, "unit", ""), ("seals", "seal", 2, "unit", "")],
            "seal is counted in lots and carries no mark: leave seals out of the assembly unit",
        ),
        ([("bags", "bag", 2, "", "bag")], "bags asks for a bag already"),
        ([("bags", "bag", 2, "", "nose nose")], "nose stands twice among what may stand in on bags"),
        (
            [("bags", "bag", 2, "", "seal")],
            "seal is counted in lots and bag is single pieces: on bags only a kind that is counted alike",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_why(made: Yard, lines, why) -> None:
    specs = [
        LineSpec(name, kind(of), n, assembly=unit, instead=tuple(Instead(kind(k)) for k in others.split()))
        for name, of, n, unit, others in lines
    ]
    with pytest.raises(NotAllowed) as said, acting(PLANNER) as act:
        set_arrangement(act, "stop", specs)
    assert why in str(said.value)
    assert not ArrangementLine.objects.filter(arrangement__name="stop").exists()


def test_quantities_that_divide_into_units_are_taken(made: Yard) -> None:
    for amounts in ((1, 3), (2, 4), (4, 6), (5, 1)):
        with acting(PLANNER) as act:
            lines = [
                LineSpec(name, kind(of), n, assembly="unit")
                for name, of, n in zip(("heads", "bases"), ("bagging head", "base"), amounts, strict=True)
            ]
            _, new = set_arrangement(act, f"stop {amounts}", lines)
        assert new


def test_a_job_that_takes_a_version_without_the_substitute_lets_it_go_and_says_so(made: Yard) -> None:
    """A piece of another kind cannot stay on a line that no longer lets its kind stand in: it is let go, and told."""
    with acting(PLANNER) as act:
        wide = set_kind(act, "wide bag", has_bore=True, has_use_by=True)
        piece = bag(made.north, "NY-W1")
        piece.kind = wide
        receive(act, [piece])
        newer, _ = set_arrangement(
            act,
            "small flow stop",
            [LineSpec("bags", kind("bag"), 6, "bore", instead=(Instead(wide),)), *_rest()],
        )
        change_job(act, made.job, arrangement=newer)
        reserve(act, Job.objects.get(pk=made.job.pk))
    held = made.job.reservations.filter(item__tag="NY-W1").values_list("standing", flat=True)
    assert list(held) == [Standing.PROMISED]
    with acting(PLANNER) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), arrangement=made.arrangement)
    assert list(held.all()) == [Standing.RELEASED]
    told = LedgerEntry.objects.filter(deed=Deed.LET_GO, mentions__about="item:NY-W1").get()
    assert "small flow stop (version 1)" in json.loads(told.body)["note"]
    assert prove_ledger().fault is None


def _rest() -> list[LineSpec]:
    return [LineSpec("bases", kind("base"), 2, "mark"), LineSpec("seals", kind("seal"), 6)]
