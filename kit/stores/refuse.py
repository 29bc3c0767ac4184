"""What cannot be recorded of an item or a job, refused in a sentence before the database would refuse it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from kit.models import Item
from kit.stores.act import NotAllowed
from kit.stores.knowledge import chunked, plain

Serial = tuple[str, int, str]


def refuse_measure(value: Decimal | None, what: str, none_is_0: bool = False) -> None:
    """Raise NotAllowed unless `value` is absent or a length in mm that its column keeps as it is.

    `none_is_0`: 0 may be given where it says that there is none of it.
    """
    if value is None or (value == 0 and none_is_0):
        return
    if value <= 0:
        raise NotAllowed(f"{what} is given as {value} mm: it must be above 0.")
    if round(value, 3) != value:
        # The ledger would keep other figures than the column does, and could not be proved.
        raise NotAllowed(f"{what} is given as {value} mm: give it to three decimals at most.")


def refuse_details(item: Item) -> None:
    """Raise NotAllowed for details that no item can have."""
    low, high = item.bore_min_mm, item.bore_max_mm
    refuse_measure(low, f"The least bore of {item.tag}")
    refuse_measure(high, f"The greatest bore of {item.tag}")
    if (low is None) != (high is None):
        raise NotAllowed(f"The bore range of {item.tag} needs both ends, or none.")
    if low is not None and high is not None and low > high:
        raise NotAllowed(
            f"The bore range of {item.tag} runs from {plain(low)} to {plain(high)} mm: give the lesser first."
        )
    if item.made_on and item.use_by and item.made_on > item.use_by:
        raise NotAllowed(f"{item.tag} would be made on {item.made_on}, after its use-by date {item.use_by}.")
    if item.place is not None and item.place.depot_id != item.depot_id:
        raise NotAllowed(
            f"{item.place} is a place of {item.place.depot} and {item.tag} is at {item.depot}: "
            "give a place of its own depot, or none."
        )


def refuse_taken(items: Sequence[Item]) -> None:
    """Raise NotAllowed for new items whose tag, or serial of the maker and kind, is there already or stands twice."""
    if any(not item.tag.strip() for item in items):
        raise NotAllowed("An item needs a tag: what is written on it.")
    for tag, times in Counter(item.tag for item in items).items():
        if times > 1:
            raise NotAllowed(
                f"{tag} stands twice among the items received: a tag belongs to one piece for ever."
            )
    for chunk in chunked([item.tag for item in items]):
        if taken := Item.objects.filter(tag__in=chunk).order_by("tag").first():
            raise NotAllowed(f"{taken.tag} is in the register already, and a tag is never used again.")
    refuse_taken_serials(items)


def refuse_taken_serials(items: Sequence[Item]) -> None:
    """Raise NotAllowed where a maker's serial is another item's of the kind, or stands twice among `items`."""
    wanted: dict[Serial, Item] = {}
    for item in items:
        key = (item.maker, item.kind_id, item.serial)
        if item.serial and key in wanted:
            raise NotAllowed(f"{_serial(item)} stands twice: {wanted[key].tag} and {item.tag}.")
        wanted[key] = item
    known = {item.pk for item in items if item.pk}
    for chunk in chunked(sorted({serial for _, _, serial in wanted if serial})):
        for other in Item.objects.filter(serial__in=chunk).order_by("tag"):
            item_ = wanted.get((other.maker, other.kind_id, other.serial))
            if item_ is not None and other.pk not in known:
                raise NotAllowed(
                    f"{_serial(other)} is {other.tag} already: look at what is stamped on {item_.tag}."
                )


def _serial(item: Item) -> str:
    return f"The {item.kind}'s serial {item.serial}" + (f" of {item.maker}" if item.maker else "")
