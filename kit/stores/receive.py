"""Goods in, and changes to what is recorded of an item."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from typing import Any

from kit.models import Deed, Depot, Item, Kind, MakerLabel, Place, ShortDate, SizedBy, State
from kit.ports import ports
from kit.stores.act import Act, NotAllowed
from kit.stores.current import renew_item
from kit.stores.follow import follow_turn_round
from kit.stores.quarantine import refuse_away
from kit.stores.refit import refit
from kit.stores.refuse import refuse_details, refuse_measure, refuse_taken, refuse_taken_serials
from kit.stores.rejudge import rejudge

# What a person may change of an item; its state, custody and due dates move by other actions.
DETAILS = (
    "depot",
    "maker",
    "serial",
    "batch",
    "bore_min_mm",
    "bore_max_mm",
    "mark",
    "made_on",
    "use_by",
    "use_by_precision",
    "use_by_text",
    "place",
    "note",
)


def receive(act: Act, items: Sequence[Item], derive: bool = True) -> list[Item]:
    """Take new items (or lots) into the register: one entry each, then their due dates. Tags must be new.

    With derive False the caller derives the due dates itself, once all that they follow from is in.
    """
    for item in items:
        item.counted = item.kind.counted
        if item.state != State.AVAILABLE:
            item.state_by, item.state_since = act.who.actor, act.now
            item.state_why = item.state_why or f"{item.get_state_display().lower()} when received"
        refuse_details(item)
    refuse_taken(items)
    made = act.create_each(
        items,
        Deed.RECEIVED,
        subjects=lambda item: [item, item.depot],
        facts=lambda item: {"kind": item.kind.name},
    )
    if apart := [item for item in made if item.state != State.AVAILABLE]:
        for hear in ports.received_so:
            hear(act, apart)
    if derive:
        refit(act, made)
    return made


def change_details(act: Act, item: Item, note: str = "", derive: bool = True, **details: Any) -> bool:
    """As `record_details`, for details by name; an item's own note cannot be among them."""
    return record_details(act, item, details, note, derive)


def record_details(
    act: Act, item: Item, details: Mapping[str, Any], why: str = "", derive: bool = True
) -> bool:
    """Change recorded details; True if any differs. What follows from them is derived anew (see `receive`)."""
    unknown = set(details) - set(DETAILS)
    if unknown:
        raise NotAllowed(f"{', '.join(sorted(unknown))} of an item cannot be changed here.")
    if derive:
        renew_item(item)  # a loader, which derives later, has read it in this very act
    if "depot" in details and details["depot"] != item.depot:
        refuse_away(item, f"moved to {details['depot']}")
        if item.place is not None:
            details = {"place": None, **details}  # a place belongs to one depot's store
    before = {name: getattr(item, name) for name in details}
    to_be = copy(item)
    for name, value in details.items():
        setattr(to_be, name, value)
    refuse_details(to_be)
    if {"maker", "serial"} & set(details):
        refuse_taken_serials([to_be])
    if not act.change(item, **details):
        return False
    facts = {
        name: [str(before[name]), str(value)] for name, value in details.items() if before[name] != value
    }
    act.tell(Deed.CHANGED, [item], note=why, facts=facts)
    if derive:
        refit(act, [item])
    return True


def count_stock(act: Act, item: Item, quantity: int, why: str) -> bool:
    """Set the quantity of a lot to what was counted. Promises that no longer fit into it are flagged."""
    if not item.counted:
        raise NotAllowed(f"{item.tag} is a single piece; only lots of counted kinds have a quantity.")
    if quantity < 0:
        raise NotAllowed("A lot cannot hold fewer than none: give the number counted, 0 or more.")
    before = renew_item(item).quantity
    refuse_away(item, "counted")
    if not act.change(item, quantity=quantity):
        return False
    act.tell(Deed.STOCK, [item], note=why, facts={"before": before, "counted": quantity})
    rejudge(act, [item.pk])
    return True


def depot_named(act: Act, code: str) -> Depot:
    """The depot of this code, set up if it is new."""
    depot = Depot.objects.filter(code=code).first()
    if depot is None:
        depot = act.create(Depot(code=code))
        act.tell(Deed.CHANGED, [depot], note=f"depot {code} set up")
    return depot


def place_named(act: Act, depot: Depot, name: str) -> Place:
    """The place of this name in a depot's store, set up if it is new, in use again if it had been withdrawn."""
    place = Place.ever.filter(depot=depot, name=name).first()
    if place is None:
        walk = Place.ever.filter(depot=depot).count() + 1
        place = act.create(Place(depot=depot, name=name, walk=walk))
        act.tell(Deed.CHANGED, [depot], note=f"place {name} set up")
    elif place.withdrawn:
        act.change(place, withdrawn=False)
        act.tell(Deed.CHANGED, [depot], note=f"place {name} in use again")
    return place


def set_kind(act: Act, name: str, **settings: Any) -> Kind:
    """Set up a kind or change its settings; what moves promises (margins, turn-round, sizes) judges them again."""
    for setting, what in (("margin_days", "margin"), ("turn_round_days", "turn-round")):
        if settings.get(setting, 0) < 0:
            raise NotAllowed(f"The {what} of {name} is {settings[setting]} days: give 0 or more.")
    refuse_measure(settings.get("bore_margin_mm"), f"The margin of the bore of {name}", none_is_0=True)
    if settings.get("sized_by", SizedBy.INSIDE) not in SizedBy.values:
        raise NotAllowed(f"{name} is sized by {settings['sized_by']!r}: write inside or outside.")
    kind = Kind.objects.filter(name=name).first()
    if kind is None:
        kind = act.create(Kind(name=name, **settings))
        act.tell(Deed.CHANGED, [f"kind:{name}"], note=f"kind {name} set up")
        return kind
    if "counted" in settings and settings["counted"] != kind.counted and kind.items.exists():
        raise NotAllowed(
            f"{name} has items in the register, so it stays {'counted' if kind.counted else 'single pieces'}: "
            "set up another kind instead."
        )
    turn_round = kind.turn_round_days
    if act.change(kind, **settings):
        act.tell(Deed.CHANGED, [f"kind:{name}"], facts=settings)
        if kind.turn_round_days != turn_round:
            follow_turn_round(act, kind)
        else:
            rejudge(act, list(kind.items.values_list("pk", flat=True)))
    return kind


def set_maker_label(act: Act, kind: Kind, maker: str, short_date: ShortDate) -> MakerLabel:
    """Say what 3/94 means on labels of one maker for one kind."""
    rule = MakerLabel.objects.filter(kind=kind, maker=maker).first()
    if rule is None:
        rule = act.create(MakerLabel(kind=kind, maker=maker, short_date=short_date))
    elif not act.change(rule, short_date=short_date):
        return rule
    act.tell(
        Deed.CHANGED, [f"kind:{kind.name}"], note=f"short dates of {maker} on {kind} are by {short_date}"
    )
    return rule
