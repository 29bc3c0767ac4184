"""What the database would refuse is refused before it gets there, in a sentence that says what to do."""

from decimal import Decimal
from typing import Any

import pytest

from inspections.actions import CheckSpec, set_checks
from inspections.models import Check
from kit.models import Item, LedgerEntry
from kit.stores import NotAllowed, Who, acting, change_details, plan_job, receive, set_kind
from tests.kit.views.yard import Yard, bag, in_days, job_of, kind, yard

pytestmark = pytest.mark.django_db

STORES = Who("w.hollis", "test")


@pytest.fixture
def made() -> Yard:
    return yard()


@pytest.mark.parametrize(
    ("tag", "details", "why"),
    [
        ("NY-B1", {"serial": "new"}, "NY-B1 is in the register already"),
        ("NY-N1", {"serial": "S-NY-B2"}, "serial S-NY-B2 of Anvil & Sons is NY-B2 already"),
        ("NY-N1", {"bore_min_mm": Decimal(200)}, "from 200 to 180 mm"),
        ("NY-N1", {"bore_min_mm": None}, "both ends"),
        ("NY-N1", {"bore_min_mm": Decimal(0)}, "above 0"),
        ("NY-N1", {"made_on": in_days(901)}, "made on"),
        ("", {}, "needs a tag"),
    ],
)
def test_goods_in(made: Yard, tag: str, details: dict[str, Any], why: str) -> None:
    entries = LedgerEntry.objects.count()
    with pytest.raises(NotAllowed, match=why), acting(STORES) as act:
        receive(act, [bag(made.north, "NY-FIRST"), bag(made.north, tag, **details)])
    assert LedgerEntry.objects.count() == entries
    assert not Item.objects.filter(tag="NY-FIRST").exists()


def test_goods_in_twice_on_one_note(made: Yard) -> None:
    with pytest.raises(NotAllowed, match="NY-N1 stands twice"), acting(STORES) as act:
        receive(act, [bag(made.north, "NY-N1", serial="1"), bag(made.north, "NY-N1", serial="2")])
    with (
        pytest.raises(NotAllowed, match="serial 1 of Anvil & Sons stands twice: NY-N1 and NY-N2"),
        acting(STORES) as act,
    ):
        receive(act, [bag(made.north, "NY-N1", serial="1"), bag(made.north, "NY-N2", serial="1")])


@pytest.mark.parametrize(
    ("details", "why"),
    [
        ({"serial": "S-NY-B2"}, "serial S-NY-B2 of Anvil & Sons is NY-B2 already"),
        ({"bore_max_mm": Decimal(100)}, "from 150 to 100 mm"),
        ({"bore_max_mm": None}, "both ends"),
        ({"made_on": in_days(901)}, "made on"),
    ],
)
def test_details(made: Yard, details: dict[str, Any], why: str) -> None:
    with pytest.raises(NotAllowed, match=why), acting(STORES) as act:
        change_details(act, made.item("NY-B1"), **details)


def test_a_bore_keeps_what_its_column_keeps(made: Yard) -> None:
    with acting(STORES) as act:
        with pytest.raises(NotAllowed, match="three decimals"):
            change_details(act, made.item("NY-B1"), bore_max_mm=Decimal("180.12345"))
        job = job_of(made.north, made.arrangement, "J-fine")
        job.bore_mm = Decimal("159.61234")
        with pytest.raises(NotAllowed, match="three decimals"):
            plan_job(act, job)


def test_a_job_of_a_reference_that_is_taken(made: Yard) -> None:
    with pytest.raises(NotAllowed, match="J/26-104 is planned already"), acting(STORES) as act:
        plan_job(act, job_of(made.north, made.arrangement, "J/26-104"))
    with pytest.raises(NotAllowed, match="needs a reference"), acting(STORES) as act:
        plan_job(act, job_of(made.north, made.arrangement, ""))


def test_a_place_of_another_depot(made: Yard) -> None:
    with acting(STORES) as act:
        assert made.item("NY-B1").place is not None
        change_details(act, made.item("NY-B1"), depot=made.mill)
        assert made.item("NY-B1").place is None
    with pytest.raises(NotAllowed, match="Rack 2 is a place of North yard"), acting(STORES) as act:
        change_details(act, made.item("NY-B1"), place=made.item("NY-B2").place)


@pytest.mark.parametrize(
    ("specs", "why"),
    [
        ([CheckSpec("hold test", "six months")], "hold test of bag: 'six months' is not an interval"),
        ([CheckSpec("hold test", "")], "hold test of bag needs an interval"),
        ([CheckSpec("hold test", "P6M"), CheckSpec("hold test", "P3M")], "hold test is named twice"),
        ([CheckSpec("use-by", "P6M")], "use-by"),
        ([CheckSpec("", "P6M")], "needs a name"),
        ([CheckSpec("hold test", "P6M", basis="whenever")], "done or anchor"),
        ([CheckSpec("hold test", "P6M", basis="anchor", early_days=-1)], "early days"),
    ],
)
def test_checks(made: Yard, specs: list[CheckSpec], why: str) -> None:
    before = list(Check.objects.order_by("pk").values())
    with pytest.raises(NotAllowed, match=why), acting(STORES) as act:
        set_checks(act, kind("bag"), specs)
    assert list(Check.objects.order_by("pk").values()) == before


def test_days_of_a_kind_run_forward(made: Yard) -> None:
    with pytest.raises(NotAllowed, match="margin"), acting(STORES) as act:
        set_kind(act, "bag", margin_days=-1)
