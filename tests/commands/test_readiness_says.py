"""What `readiness` answers of a small register, worked out by hand, and how it refuses what it cannot answer."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.models import Arrangement, ArrangementLine, Depot, Item, Kind, LedgerEntry
from kit.planning.values import NO_LIMIT
from tests.commands.running import Said, run
from tests.kit.workbooks.depot_book import Book, in_days, loaded

pytestmark = pytest.mark.django_db
STOP = "trial stop"


def book() -> Book:
    """A stop takes two bags of the bore, a head and a base of one mark, two seals. North makes one or two, south one.

    B1 to B4 suit 165.2 mm (B4 until day 4), B5 does not; two heads and two bases of M3, a head of M5 that has no base.
    """
    made = Book()
    for kind in ("bag", "bagging head", "base", "seal"):
        made.add("Checks", kind=kind)
    places = {"B6": "MB", "B7": "MB", "H4": "MB", "S3": "MB", "L2": "MB"}

    def item(tag: str, kind: str, **cells: object) -> None:
        made.add("Items", tag=tag, kind=kind, serial=tag, depot=places.get(tag, "NY"), **cells)

    for tag in ("B1", "B2", "B3", "B4", "B6", "B7"):
        use_by = in_days(4) if tag == "B4" else None
        item(tag, "bag", bore_min_mm=150, bore_max_mm=180, use_by=use_by)
    item("B5", "bag", bore_min_mm=180, bore_max_mm=220)
    for tag, kind, mark in (
        *(("H1", "bagging head", "M3"), ("H2", "bagging head", "m3"), ("H3", "bagging head", "M5")),
        *(("S1", "base", "M3"), ("S2", "base", "M3"), ("H4", "bagging head", "M5"), ("S3", "base", "M5")),
    ):
        item(tag, kind, mark=mark)
    for tag, quantity in (("L1", 5), ("L2", 2)):
        made.add("Items", tag=tag, kind="seal", depot=places.get(tag, "NY"), quantity=quantity)
    lines = (("bags", "bag", 2, "bore"), ("heads", "bagging head", 1, "mark"), ("bases", "base", 1, "mark"))
    for line, kind, quantity, match in (*lines, ("seals", "seal", 2, "any")):
        made.add("Arrangements", arrangement=STOP, line=line, kind=kind, quantity=quantity, match=match)
    made.add(
        "Jobs",
        reference="J-1",
        depot="NY",
        load_on=in_days(2),
        return_on=in_days(3),
        bore_mm=165.2,
        base_mark="M3",
        arrangement=STOP,
    )
    return made


@pytest.fixture(autouse=True)
def _register(tmp_path: Path) -> None:
    made = book()
    made.add("Kinds", kind="seal", counted="yes")
    report = loaded(made.xlsx(tmp_path / "depot.xlsx"))
    assert report.loaded, report.faults.text_report()


def asked(*more: str, days: int = 6) -> tuple[str, ...]:
    first = in_days(0).isoformat()
    return (
        "readiness",
        *("--arrangement", STOP, "--bore", "165.2", "--from", first, "--days", str(days)),
        *more,
    )


def by_day(*more: str) -> list[tuple[int, list[str]]]:
    return [(day["stops"], day["limited_by"]) for day in run(*asked(*more, "--format", "json")).json["days"]]


def test_json_to_the_letter():
    said = run(*asked("--format", "json", "--depot", "NY", days=2))
    assert said.code == 0
    assert said.err == ""
    # Heads would do for three, had the one of M5 a base.
    both = ["bag", "base", "seal"]
    assert said.json == {
        "arrangement": STOP,
        "bore_mm": 165.2,
        "days": [
            {"date": in_days(0).isoformat(), "stops": 2, "limited_by": both},
            {"date": in_days(1).isoformat(), "stops": 2, "limited_by": both},
        ],
    }


def test_a_promise_and_a_use_by_date_take_stops_away():
    north = [2, 2, 2, 2, 2, 1]
    assert [stops for stops, _kinds in by_day("--depot", "NY")] == north
    assert by_day("--depot", "NY")[5] == (1, ["bag"])
    assert [stops for stops, _kinds in by_day()] == [stops + 1 for stops in north]
    run("kit_list", "J-1", "--reserve")
    # Seals promised are used up, whenever that is; what else J-1 holds is missing while it is out.
    assert by_day("--depot", "NY") == [
        (1, ["seal"]),
        (1, ["seal"]),
        (1, ["bag", "base", "seal"]),
        (1, ["bag", "base", "seal"]),
        (1, ["seal"]),
        (1, ["bag", "seal"]),
    ]


def test_it_reads_only():
    entries = LedgerEntry.objects.count()
    assert run(*asked()).code == 0
    assert LedgerEntry.objects.count() == entries


def test_text_says_the_day_the_stops_and_what_limits_them():
    said = run(*asked("--depot", "NY"))
    assert f"{in_days(5)}    1 stop  limited by bag\n" in said.out
    none = run(
        "readiness", *("--arrangement", STOP, "--bore", "400", "--from", str(in_days(0)), "--days", "1")
    )
    assert none.code == 0
    assert f"{in_days(0)}   0 stops  short of bag\n" in none.out


def test_a_day_that_is_past_is_answered_with_a_warning():
    said = run(
        "readiness", *("--arrangement", STOP, "--bore", "165.2", "--from", str(in_days(-9)), "--days", "1")
    )
    assert said.code == 0
    assert "is past" in said.err


@pytest.mark.parametrize(
    ("instead", "sentence"),
    [
        (
            {"--arrangement": "trial stopp"},
            "There is no arrangement trial stopp in the register. Did you mean trial",
        ),
        ({"--depot": "NYY"}, "There is no depot NYY in the register. Did you mean NY?"),
        ({"--bore": "wide"}, "'wide' is not a bore: write it in mm"),
        ({"--bore": "0"}, "'0' is not a bore"),
        ({"--bore": "NaN"}, "'NaN' is not a bore"),
        ({"--bore": "1e9"}, "'1e9' is not a bore"),
        ({"--from": "31/12/2026"}, "'31/12/2026' is not a date: write it as YYYY-MM-DD"),
        ({"--days": "0"}, "'0' is not a number of days: write a whole number from 1"),
        ({"--days": "-3"}, "'-3' is not a number of days"),
        ({"--days": "99999"}, "'99999' is not a number of days"),
    ],
)
def test_bad_input_is_a_sentence(instead, sentence):
    given = {
        "--arrangement": STOP,
        "--bore": "165.2",
        "--from": in_days(0).isoformat(),
        "--days": "3",
        "--depot": "NY",
        **instead,
    }
    said = run("readiness", *(f"{name}={value}" for name, value in given.items()))
    assert (said.code, said.out) == (2, "")
    assert sentence in said.err.strip().splitlines()[-1]


def test_sets_go_whole_into_a_stop_and_the_outside_diameter_may_be_given() -> None:
    """A stop takes two bags, which a set of two is; a base that is sized by the outside suits a main of 180 mm."""
    depot, base = Depot.objects.create(code="XX"), Kind.objects.create(name="pipe base", sized_by="outside")
    bag = Kind.objects.create(name="flat bag")
    pair, plain = (Arrangement.objects.create(name=name) for name in ("pair", "bases"))
    ArrangementLine.objects.create(arrangement=pair, position=1, name="bags", kind=bag, quantity=2)
    ArrangementLine.objects.create(
        arrangement=plain, position=1, name="bases", kind=base, quantity=1, match="bore"
    )
    for tag in ("SET1", "SET2"):
        Item.objects.create(tag=tag, kind=bag, depot=depot, set_name="red", fit_until=NO_LIMIT)
    Item.objects.create(
        tag="OUT1", kind=base, depot=depot, fit_until=NO_LIMIT, bore_min_mm=175, bore_max_mm=190
    )

    def ask(arrangement: str, *more: str) -> Said:
        from_today = ("--from", in_days(0).isoformat(), "--days", "1", "--format", "json")
        return run("readiness", "--arrangement", arrangement, "--bore", "165.2", *from_today, *more)

    [told] = ask("pair").json["days"]
    assert told["stops"] == 1
    assert "at_most" not in told
    without = ask("bases")
    assert without.json["days"][0]["stops"] == 0
    assert "Sized by the outside diameter of the main: pipe base." in without.err
    given = ask("bases", "--outside", "180")
    assert given.json["days"][0]["stops"] == 1
    assert given.err == ""


def test_where_sets_might_be_put_together_otherwise_both_figures_are_told() -> None:
    """Bags of a set that would do on either of two lines are not counted, and may make a stop."""
    depot, bag = Depot.objects.create(code="XX"), Kind.objects.create(name="flat bag")
    arrangement = Arrangement.objects.create(name="two lines")
    for place, match in enumerate(("any", "bore")):
        ArrangementLine.objects.create(
            arrangement=arrangement, position=place, name=f"bag {match}", kind=bag, quantity=1, match=match
        )
    for tag in ("SET1", "SET2"):
        Item.objects.create(
            tag=tag,
            kind=bag,
            depot=depot,
            set_name="red",
            fit_until=NO_LIMIT,
            bore_min_mm=150,
            bore_max_mm=180,
        )
    said = run(
        "readiness", "--arrangement", "two lines", "--bore", "165.2", "--from", in_days(0).isoformat(), "--days", "1",
        "--format", "json",
    )  # fmt: skip
    assert said.json["days"] == [
        {"date": in_days(0).isoformat(), "stops": 0, "limited_by": ["flat bag"], "at_most": 1}
    ]
