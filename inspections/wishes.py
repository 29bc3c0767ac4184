"""What people wish for themselves: their address, reminders by mail, a key to the calendar of due dates.

None of it is told in the ledger, which is about the kit: it moves no date and no verdict, and goes with the person.
"""

from __future__ import annotations

import secrets
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from inspections.models import FeedKey, MailSent, MailWish
from kit.calendar_keys import KEY_BYTES, READ_NOTED_EVERY, hash_of
from kit.models import Depot

KEPT_DAYS = 31


def set_address(user: User, address: str) -> None:
    """Where reminders go; empty: nowhere."""
    User.objects.filter(pk=user.pk).update(email=address)
    user.email = address


def set_wish(user: User, depot: Depot, wants: bool) -> None:
    MailWish.objects.update_or_create(user=user, depot=depot, defaults={"wants": wants})


def claim(address: str, depot: Depot, day: date, digest_hash: str) -> bool:
    """Take it on oneself to send this digest to this address on this day; False if somebody has.

    Claimed before it is sent, so that two runs at once do not both send it. What is older than a month is forgotten.
    """
    MailSent.objects.filter(sent_on__lt=day - timedelta(days=KEPT_DAYS)).delete()
    _row, new = MailSent.objects.get_or_create(
        address=address, depot=depot, sent_on=day, digest_hash=digest_hash
    )
    return new


def give_up_claim(address: str, depot: Depot, day: date, digest_hash: str) -> None:
    """It could not be sent after all: the next run may."""
    MailSent.objects.filter(address=address, depot=depot, sent_on=day, digest_hash=digest_hash).delete()


def make_key(user: User, depot: Depot, now: datetime) -> str:
    """A new key of the person's calendar at the depot; an earlier one opens nothing from now on.

    Gives the key itself, which is kept nowhere: it can be shown this once.
    """
    key = secrets.token_urlsafe(KEY_BYTES)
    with transaction.atomic():
        revoke_key(user, depot)
        FeedKey.objects.create(user=user, depot=depot, key_hash=hash_of(key), made_at=now)
    return key


def revoke_key(user: User, depot: Depot) -> bool:
    """Whether there was one."""
    number, _each = FeedKey.objects.filter(user=user, depot=depot).delete()
    return bool(number)


def note_reading(found: FeedKey, now: datetime) -> None:
    """When a calendar was last read, kept at most once an hour: programs read it often."""
    long_ago = Q(last_read_at__isnull=True) | Q(last_read_at__lte=now - READ_NOTED_EVERY)
    FeedKey.objects.filter(long_ago, pk=found.pk).update(last_read_at=now)
