"""A test that really commits leaves nothing behind, though the ledger can be neither emptied nor edited."""

from datetime import UTC, datetime

import pytest
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import TransactionTestCase

from kit.models import Deed, LedgerEntry

MOMENT = datetime(2026, 11, 2, 8, 30, tzinfo=UTC)


@pytest.mark.django_db(transaction=True)
def test_what_a_test_committed_is_gone_and_the_schema_is_not():
    applied = MigrationRecorder.Migration.objects.count()
    LedgerEntry.objects.create(
        number=1,
        deed=Deed.FOUND,
        happened_at=MOMENT,
        recorded_at=MOMENT,
        actor="a test",
        source="tests",
        body="{}",
        previous_hash="0" * 64,
        hash="1" * 64,
    )
    with pytest.raises(DatabaseError, match="fettlebook refuses"):
        LedgerEntry.objects.all().delete()
    TransactionTestCase._fixture_teardown(None)  # what runs after each test that commits
    assert not LedgerEntry.objects.exists()
    assert MigrationRecorder.Migration.objects.count() == applied > 0


@pytest.mark.django_db
def test_the_test_database_is_one_of_our_own(engine):
    name = str(connection.settings_dict["NAME"])
    assert "test_fettlebook" in name
    assert connection.vendor == engine
    if engine == "sqlite":
        assert not connection.is_in_memory_db()
