"""What raw SQL is refused on both engines: the database holds the rules of the trade, not only the code."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from kit.models import Item, Job, LedgerEntry, LedgerMention, Reservation
from kit.stores import Who, acting, plan_job, reserve
from tests.kit.views.yard import Yard, job_of, yard

pytestmark = pytest.mark.django_db

WHO = Who("p.lane", "test")


def sql(statement: str, *values: Any) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def refused(why: str, statement: str, *values: Any) -> None:
    with pytest.raises(IntegrityError, match=why):
        sql(statement, *values)


@pytest.fixture
def reserved() -> Yard:
    """The yard with its job reserved, and a second job in the same week."""
    made = yard()
    with acting(WHO) as act:
        reserve(act, made.job)
        plan_job(act, job_of(made.north, made.arrangement, "J/26-105", load=9, back=14))
    return made


def promise_by_sql(
    job: Job, item: Item, starts: date | None = None, ends: date | None = None
) -> tuple[str, list[Any]]:
    line = job.arrangement.lines.get(kind=item.kind)
    return (
        "INSERT INTO kit_reservation "
        "(job_id, line_id, item_id, counted, quantity, starts, ends, standing, why, outcome) "
        "VALUES (%s, %s, %s, %s, 1, %s, %s, 'promised', '', '')",
        [job.pk, line.pk, item.pk, False, starts or job.load_on, ends or job.return_on],
    )


def test_overlapping_promises_of_one_item(reserved: Yard) -> None:
    held = reserved.job.reservations.filter(counted=False).first()
    assert held is not None
    other = Job.objects.get(reference="J/26-105")
    statement, values = promise_by_sql(other, held.item)
    refused("promised to another job|no_overlap", statement, *values)
    free = Item.objects.filter(kind=held.item.kind, reservations__isnull=True, bore_min_mm=150).first()
    assert free is not None
    statement, values = promise_by_sql(other, free)
    sql(statement, *values)  # the same statement goes through for an item that nobody was promised
    refused(
        "promised to another job|no_overlap",
        "UPDATE kit_reservation SET item_id = %s WHERE item_id = %s",
        held.item_id,
        free.pk,
    )


def test_one_day_in_common_is_an_overlap_and_the_next_day_is_not(reserved: Yard) -> None:
    held = reserved.job.reservations.filter(counted=False, item__kind__name="bag").first()
    assert held is not None
    last = reserved.job.return_on
    with acting(WHO) as act:
        touching = plan_job(act, job_of(reserved.north, reserved.arrangement, "J-touch", load=12, back=20))
        after = plan_job(act, job_of(reserved.north, reserved.arrangement, "J-after", load=13, back=20))
    assert touching.load_on == last
    refused("promised to another job|no_overlap", *_flat(promise_by_sql(touching, held.item)))
    statement, values = promise_by_sql(after, held.item)
    sql(statement, *values)


def _flat(pair: tuple[str, list[Any]]) -> list[Any]:
    return [pair[0], *pair[1]]


def test_a_promise_that_is_shorter_than_its_job(reserved: Yard) -> None:
    item = reserved.item("NY-B5")
    job = Job.objects.get(reference="J/26-105")
    refused(
        "does not cover its job", *_flat(promise_by_sql(job, item, ends=job.return_on - timedelta(days=1)))
    )


@pytest.mark.parametrize("state", ["quarantined", "withdrawn", "lost"])
def test_a_promise_of_an_item_that_is_not_available(reserved: Yard, state: str) -> None:
    item = reserved.item("NY-B5")
    sql("UPDATE kit_item SET state = %s, state_why = 'by hand' WHERE id = %s", state, item.pk)
    refused("not available", *_flat(promise_by_sql(Job.objects.get(reference="J/26-105"), item)))


def test_a_promise_beyond_fit_until(reserved: Yard) -> None:
    item = reserved.item("NY-B5")
    job = Job.objects.get(reference="J/26-105")
    sql("UPDATE kit_item SET fit_until = %s WHERE id = %s", job.return_on - timedelta(days=1), item.pk)
    refused("not fit until the return", *_flat(promise_by_sql(job, item)))
    sql("UPDATE kit_item SET fit_until = NULL WHERE id = %s", item.pk)
    refused("not fit until the return", *_flat(promise_by_sql(job, item)))
    sql("UPDATE kit_item SET fit_until = %s WHERE id = %s", job.return_on, item.pk)
    sql("UPDATE kit_kind SET margin_days = 1 WHERE id = %s", item.kind_id)
    refused("not fit until the return", *_flat(promise_by_sql(job, item)))
    sql("UPDATE kit_kind SET margin_days = 0 WHERE id = %s", item.kind_id)
    sql(*_flat(promise_by_sql(job, item)))  # fit on the very day of return is fit


def test_a_promise_of_an_item_of_another_depot_or_kind(reserved: Yard) -> None:
    item = reserved.item("NY-B5")
    job = Job.objects.get(reference="J/26-105")
    base = job.arrangement.lines.get(kind__name="base")
    statement, values = promise_by_sql(job, item)
    refused("not of the kind", statement, values[0], base.pk, *values[2:])
    sql("UPDATE kit_item SET depot_id = %s WHERE id = %s", reserved.mill.pk, item.pk)
    refused("not at the depot", statement, *values)


def test_issuing_a_quarantined_item(reserved: Yard) -> None:
    held = reserved.job.reservations.filter(counted=False, item__kind__name="bag").first()
    assert held is not None
    sql("UPDATE kit_item SET state = 'quarantined', state_why = 'by hand' WHERE id = %s", held.item_id)
    refused(
        "not available",
        "UPDATE kit_reservation SET standing = 'issued', issued_on = starts WHERE id = %s",
        held.pk,
    )


def test_more_of_a_lot_than_there_is(reserved: Yard) -> None:
    held = reserved.job.reservations.filter(counted=True).first()
    assert held is not None
    refused(
        "more of the lot",
        "UPDATE kit_reservation SET quantity = %s WHERE id = %s",
        held.item.quantity + 1,
        held.pk,
    )


def test_edited_and_deleted_ledger_entries(reserved: Yard) -> None:
    refused("append-only", "UPDATE kit_ledgerentry SET actor = 'somebody else' WHERE number = 3")
    refused("never deleted", "DELETE FROM kit_ledgerentry WHERE number = 3")
    refused("append-only", "UPDATE kit_ledgermention SET about = 'item:X'")
    refused("never deleted", "DELETE FROM kit_ledgermention")
    if connection.vendor == "postgresql":
        sql("SET CONSTRAINTS ALL IMMEDIATE")  # or PostgreSQL refuses for its own reason first
        refused("never deleted", "TRUNCATE kit_ledgerentry CASCADE")
    assert LedgerEntry.objects.filter(number=3).exclude(actor="somebody else").exists()
    assert LedgerMention.objects.exists()


def test_edited_and_deleted_inspections(reserved: Yard) -> None:
    refused("append-only", "UPDATE inspections_inspection SET verdict = 'pass'")
    refused("never deleted", "DELETE FROM inspections_inspection")


def test_a_tag_used_twice_changed_or_freed(reserved: Yard) -> None:
    item = reserved.item("NY-B5")
    columns = [f.column for f in Item._meta.concrete_fields if not f.primary_key]
    copied = ", ".join(columns)
    unused = copied.replace("serial", "''", 1)
    refused(
        "(?i)unique|duplicate",
        f"INSERT INTO kit_item ({copied}) SELECT {unused} FROM kit_item WHERE id = %s",
        item.pk,
    )
    refused("never changed", "UPDATE kit_item SET tag = 'NY-B77' WHERE id = %s", item.pk)
    refused("never deleted", "DELETE FROM kit_item WHERE id = %s", reserved.item("NY-B9").pk)


def test_deleted_reservations_and_jobs(reserved: Yard) -> None:
    refused("never deleted", "DELETE FROM kit_reservation")
    refused("never deleted", "DELETE FROM kit_job WHERE reference = 'J/26-105'")
    assert Reservation.objects.exists()
