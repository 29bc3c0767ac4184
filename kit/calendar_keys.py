"""Keys to the calendar feeds of crews: made, revoked, noted as read. Only the hash of a key is kept.

Not told in the ledger, which is about the kit: a key moves no date and no promise, and goes with the person.
"""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from hashlib import sha256

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from kit.models import CrewCalendarKey, Depot

KEY_BYTES = 32
READ_NOTED_EVERY = timedelta(hours=1)


def hash_of(key: str) -> str:
    """Under which a key is kept. A key has 256 random bits, so a plain hash cannot be guessed back."""
    return sha256(key.encode()).hexdigest()


def make_key(user: User, depot: Depot, crew: str, now: datetime) -> str:
    """A new key of the person to the calendar of the crew (empty: of all crews); their earlier one opens nothing now.

    Gives the key itself, which is kept nowhere: it can be shown this once.
    """
    key = secrets.token_urlsafe(KEY_BYTES)
    with transaction.atomic():
        revoke_key(user, depot, crew)
        CrewCalendarKey.objects.create(user=user, depot=depot, crew=crew, key_hash=hash_of(key), made_at=now)
    return key


def revoke_key(user: User, depot: Depot, crew: str) -> bool:
    """Whether there was one."""
    number, _each = CrewCalendarKey.objects.filter(user=user, depot=depot, crew=crew).delete()
    return bool(number)


def note_reading(found: CrewCalendarKey, now: datetime) -> None:
    """When a calendar was last read, kept at most once an hour: programs read it often."""
    long_ago = Q(last_read_at__isnull=True) | Q(last_read_at__lte=now - READ_NOTED_EVERY)
    CrewCalendarKey.objects.filter(long_ago, pk=found.pk).update(last_read_at=now)


def key_of(key: str) -> CrewCalendarKey | None:
    """What the key opens, if it was not revoked and its person still works here.

    It is looked up by its hash, so how long that takes tells nothing about a key that is nearly right.
    """
    found = CrewCalendarKey.objects.filter(key_hash=hash_of(key), user__is_active=True)
    return found.select_related("user", "depot").first()
