"""Rows as they are when an act has its turn: what a screen was showing may be old by then."""

from __future__ import annotations

from typing import TypeVar

from django.db import models

from kit.models import Item, Job, Reservation

M = TypeVar("M", bound=models.Model)


def fresh(item: Item) -> Item:
    """The item as it is now, as another object: the one handed over stays as it was."""
    return Item.objects.select_related("kind", "depot", "place", "transit_to").get(pk=item.pk)


def renew(row: M, *related: str) -> M:
    """The same object, with all its columns read again and these relations with them."""
    row.refresh_from_db(from_queryset=type(row)._default_manager.select_related(*related))
    row.__dict__.pop("gates", None)  # an item's gates are kept beside the column that they are read from
    return row


def renew_item(item: Item) -> Item:
    return renew(item, "kind", "depot", "place", "transit_to")


def renew_job(job: Job) -> Job:
    return renew(job, "depot", "arrangement")


def renew_reservation(reservation: Reservation) -> Reservation:
    return renew(
        reservation,
        "job__depot",
        "job__arrangement",
        "line__kind",
        "item__kind",
        "item__depot",
        "item__place",
        "item__transit_to",
    )
