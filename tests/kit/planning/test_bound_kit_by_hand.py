"""Assemblies, sets, spares and substitutes in a kit list, each worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from kit.planning import Candidate, Held, KitList, Line, Main, Need, Promise, Substitute, draw_up, to_json

AS_OF = date(2026, 11, 2)
LOAD, BACK = date(2026, 11, 10), date(2026, 11, 12)
HEADS = Line("heads", "head", 2, assembly="unit")
BASES = Line("bases", "base", 2, assembly="unit")


def need(*lines: Line, **other: object) -> Need:
    return Need("J1", "NORTH", LOAD, BACK, lines=lines, **other)  # type: ignore[arg-type]


def piece(tag: str, kind: str, mark: str = "", days: int | None = None, **other: object) -> Candidate:
    """A piece that is in date until `days` after the return, without limit if that is None."""
    use_by = None if days is None else BACK + timedelta(days=days)
    return Candidate(tag, kind, "NORTH", mark=mark, use_by=use_by, **other)  # type: ignore[arg-type]


def tags(kit: KitList) -> list[list[str]]:
    return [list(line.tags) for line in kit.lines]


def codes(kit: KitList) -> dict[tuple[str, str], list[str]]:
    return {(each.line, each.tag): [reason.code for reason in each.reasons] for each in kit.refused}


def test_a_unit_shares_a_mark_though_other_pieces_run_out_sooner() -> None:
    """The heads with least life are of two marks, but there are two bases of mark II and one of V only."""
    register = [
        *(
            piece(tag, "head", mark, days)
            for tag, mark, days in (("H1", "V", 1), ("H2", "V", 2), ("H3", "II", 9))
        ),
        *(piece(tag, "base", mark, 5) for tag, mark in (("S1", "II"), ("S2", "ii "), ("S3", "V"))),
    ]
    kit = draw_up(need(HEADS, BASES), register, AS_OF)
    # II and V make up a unit each: H1 is the sooner of the heads marked V; S1 comes before S2 of equals.
    assert tags(kit) == [["H1", "H3"], ["S1", "S3"]]
    assert kit.complete
    assert [(fit.tag, fit.line) for fit in kit.also_fit] == [("H2", "heads"), ("S2", "bases")]


def test_what_cannot_be_made_up_is_short_on_the_later_line() -> None:
    register = [
        piece("H1", "head", "V"),
        piece("H2", "head", "V"),
        piece("S1", "base", "II"),
        piece("S2", "base", ""),
    ]
    kit = draw_up(need(HEADS, BASES), register, AS_OF)
    assert tags(kit) == [["H1", "H2"], []]
    assert kit.lines[1].short == 2
    assert codes(kit) == {("bases", "S2"): ["wrong-mark"]}
    assert kit.lines[1].remedy.startswith("S1 would do on this line but for units of one mark (unit)")


def test_held_pieces_take_up_a_unit_of_their_mark() -> None:
    register = [
        piece("H1", "head", "V"),
        piece("H2", "head", "II", 1),
        piece("H3", "head", "II", 1),
        piece("S1", "base", "II", 1),
        piece("S2", "base", "II", 2),
    ]
    free = draw_up(need(HEADS, BASES), register, AS_OF)
    assert tags(free) == [["H2", "H3"], ["S1", "S2"]]
    # With H1 held one unit is of mark V, for which there is no base: one unit of II is left.
    kit = draw_up(need(HEADS, BASES), register, AS_OF, held=[Held("heads", "H1")])
    assert tags(kit) == [["H1", "H2"], ["S1"]]
    assert kit.lines[1].short == 1


BAGS, TUBES = Line("bags", "bag", 2), Line("tubes", "tube", 1)


def test_a_set_goes_as_a_whole_or_not_at_all() -> None:
    register = [
        piece("B1", "bag", days=1, set_name="PAIR"),
        piece("T1", "tube", days=50, set_name="PAIR"),
        piece("B2", "bag", days=20),
        piece("B3", "bag", days=30),
        piece("T2", "tube", days=5),
    ]
    # PAIR with B2: 1 + 20 + 50 = 71 days; without it 20 + 30 + 5 = 55.
    kit = draw_up(need(BAGS, TUBES), register, AS_OF)
    assert tags(kit) == [["B2", "B3"], ["T2"]]
    assert [fit.tag for fit in kit.also_fit] == ["B1", "T1"]


def test_a_mate_that_is_refused_keeps_the_others_back_and_is_named() -> None:
    register = [
        piece("B1", "bag", set_name="PAIR"),
        piece("T1", "tube", set_name="PAIR", days=-1),
        piece("G1", "gauge", set_name="BOX"),
        piece("B2", "bag", set_name="BOX"),
    ]
    kit = draw_up(need(BAGS, TUBES), register, AS_OF)
    assert codes(kit) == {
        ("bags", "B1"): ["set-not-whole"],
        ("bags", "B2"): ["set-not-whole"],
        ("tubes", "T1"): ["use-by-before-return"],
    }
    first, second, _ = (each.reasons[0] for each in kit.refused)
    assert first.date == BACK - timedelta(days=1)
    assert first.text.startswith(
        "Its set PAIR goes as a whole, and T1 of it cannot go: its use-by date 2026-11-11 "
    )
    assert second.text == "Its set BOX goes as a whole, and G1 of it cannot go: J1 has no line for a gauge."


def test_a_set_for_which_a_job_has_no_room_is_said_to_have_none() -> None:
    register = [piece(tag, "bag", set_name="TRIO") for tag in ("B1", "B2", "B3")]
    kit = draw_up(need(BAGS), register, AS_OF)
    assert codes(kit) == {("bags", tag): ["set-not-whole"] for tag in ("B1", "B2", "B3")}
    assert kit.refused[0].reasons[0].text == (
        "Its set TRIO goes as a whole, and J1 has no room for all of it (B1, B2, B3) together."
    )


def test_a_set_of_one_name_in_two_depots_is_two_sets() -> None:
    away = Candidate("T1", "tube", "SOUTH", set_name="PAIR")
    kit = draw_up(need(BAGS), [piece("B1", "bag", set_name="PAIR")], AS_OF, elsewhere=[away])
    assert tags(kit) == [["B1"]]


def test_a_substitute_is_taken_only_where_the_own_kind_does_not_fill_the_line() -> None:
    line = Line("bags", "bag", 2, substitutes=(Substitute("wide", 2), Substitute("old bag", 1)))
    own = [piece("B1", "bag", days=500), piece("B2", "bag", days=600)]
    others = [piece("O1", "old bag", days=90), piece("W1", "wide", days=1)]
    assert tags(draw_up(need(line), [*own, *others], AS_OF)) == [["B1", "B2"]]
    kit = draw_up(need(line), [own[0], *others], AS_OF)
    assert tags(kit) == [["B1", "O1"]]
    assert kit.lines[0].instead == (("O1", "old bag"),)
    assert to_json(kit)["lines"][0]["instead"] == [{"tag": "O1", "kind": "old bag"}]
    assert tags(draw_up(need(line), others, AS_OF)) == [["O1", "W1"]]


def test_a_substitute_brings_its_own_margin_and_turn_round() -> None:
    line = Line("bags", "bag", 1, substitutes=(Substitute("wide", 1, margin_days=7, turn_round_days=3),))
    soon_due = piece("W1", "wide", days=6)
    wanted = piece(
        "W2", "wide", promises=(Promise("J2", BACK + timedelta(days=3), BACK + timedelta(days=9)),)
    )
    kit = draw_up(need(line), [soon_due, wanted], AS_OF)
    assert codes(kit) == {("bags", "W1"): ["use-by-before-return"], ("bags", "W2"): ["promised-elsewhere"]}
    # Once J2 is back, on 21 November, W2 comes free.
    assert kit.lines[0].soonest == BACK + timedelta(days=10)


def test_the_spare_must_fit_every_position() -> None:
    """The near side is 160 mm and the far side 200 mm: a spare that covers one of them alone is none."""
    sides = [
        Line("near bags", "bag", 1, "bore", side="near"),
        Line("far bags", "bag", 1, "bore", side="far"),
        Line("spare", "bag", 1, "bore", side="every"),
    ]

    def bag(tag: str, low: int, high: int) -> Candidate:
        return replace(piece(tag, "bag"), bore_min_mm=Decimal(low), bore_max_mm=Decimal(high))

    asked = need(
        *sides, bore_mm=Decimal(160), near=Main(bore_mm=Decimal(160)), far=Main(bore_mm=Decimal(200))
    )
    register = [bag("N1", 150, 180), bag("F1", 180, 220), bag("S1", 150, 220), bag("N2", 150, 180)]
    kit = draw_up(asked, register, AS_OF)
    assert tags(kit) == [["N1"], ["F1"], ["S1"]]


def test_of_equal_lots_the_first_to_expire_goes_first() -> None:
    seals = Line("seals", "seal", 5, counted=True, substitutes=(Substitute("tape", 1),))
    lots = [
        replace(piece("L9", "seal", days=10), quantity=3),
        replace(piece("L1", "seal", days=400), quantity=9),
        replace(piece("T1", "tape", days=1), quantity=9),
    ]
    [line] = draw_up(need(seals), lots, AS_OF).lines
    assert line.lots == (("L1", 2), ("L9", 3))
    [line] = draw_up(need(seals), [lots[0], lots[2]], AS_OF).lines
    assert line.lots == (("L9", 3), ("T1", 2))


def test_extra_keys_only_where_the_feature_is_used() -> None:
    plain = to_json(draw_up(need(BAGS), [piece("B1", "bag")], AS_OF))
    assert set(plain["lines"][0]) == {"line", "kind", "needed", "tags", "short", "soonest", "remedy"}
    assert "proven" not in plain
    bound = to_json(draw_up(need(HEADS, BASES), [piece("H1", "head", "V")], AS_OF))
    assert [line["assembly"] for line in bound["lines"]] == ["unit", "unit"]
