"""Places of a store: set up, renamed, withdrawn with what lies in them moved or not at all."""

from __future__ import annotations

from django.db.models import QuerySet

from kit.models import Deed, Depot, Item, Place, State, StockTake
from kit.stores.act import Act, NotAllowed
from kit.stores.receive import place_named, record_details


def set_up_place(act: Act, depot: Depot, name: str) -> Place:
    """A new place at the end of the walk. Raises NotAllowed for a name that the depot has, also in other letters."""
    _refuse_name(depot, name, None)
    return place_named(act, depot, name)


def rename_place(act: Act, place: Place, name: str, why: str) -> int:
    """Call a place otherwise; what lies in it stays there. Gives how many pieces in use that is.

    Raises NotAllowed without a reason, or for a name that another place of the depot has.
    """
    place.refresh_from_db()
    before = place.name
    _refuse_without(why, f"{before} is renamed")
    _refuse_withdrawn(place)
    if name == before:
        raise NotAllowed(f"The place is called {name} already.")
    _refuse_name(place.depot, name, place)
    act.change(place, name=name)
    note = f"place {before} is called {name} from now on: {why.strip()}"
    act.tell(Deed.CHANGED, [place.depot], note=note, facts={"before": before, "now": name})
    return lying_in(place).count()


def withdraw_place(act: Act, place: Place, why: str, to: Place | None = None) -> list[Item]:
    """Take a place out of use. What lies in it goes `to` another place of the depot; gives these pieces.

    Pieces noted as lost or withdrawn lie nowhere: for them no place is recorded any more. Raises NotAllowed without a
    reason, while it is counted, and if something lies in it and no other place is named.
    """
    place.refresh_from_db()
    _refuse_without(why, f"{place} is withdrawn")
    _refuse_withdrawn(place)
    if (count := StockTake.objects.filter(place=place, closed_at__isnull=True).first()) is not None:
        raise NotAllowed(f"{place} is being counted in stock-take {count.number}: close that first.")
    if to is not None and (to.pk == place.pk or to.depot_id != place.depot_id or to.withdrawn):
        raise NotAllowed(f"What lies in {place} cannot go to {to}: choose another place of {place.depot}.")
    moved = list(lying_in(place).select_related("kind", "depot", "place"))
    if moved and to is None:
        listed = ", ".join(item.tag for item in moved[:5]) + (" ..." if len(moved) > 5 else "")
        pieces = "1 piece lies" if len(moved) == 1 else f"{len(moved)} pieces lie"
        raise NotAllowed(f"{pieces} in {place} ({listed}): say to which place they go, or move them first.")
    note = f"{place} is withdrawn: {why.strip()}"
    for item in moved:
        record_details(act, item, {"place": to}, why=note, derive=False)
    for item in Item.objects.filter(place=place).select_related("kind", "depot", "place"):
        record_details(act, item, {"place": None}, why=note, derive=False)
    act.change(place, withdrawn=True)
    act.tell(
        Deed.CHANGED,
        [place.depot],
        note=f"place {note}",
        facts={"moved": len(moved), "to": to.name if to else ""},
    )
    return moved


def lying_in(place: Place) -> QuerySet[Item]:
    """Pieces of which the book says that this is their place, without those that are lost or withdrawn."""
    gone = [State.LOST, State.WITHDRAWN]
    return Item.objects.filter(place=place).exclude(state__in=gone).order_by("tag")


def _refuse_name(depot: Depot, name: str, place: Place | None) -> None:
    if not name.strip():
        raise NotAllowed("Give the place a name.")
    alike = Place.ever.filter(depot=depot, name__iexact=name)
    same = (alike.exclude(pk=place.pk) if place else alike).first()
    if same is None or (place is None and same.withdrawn and same.name == name):
        return
    if same.withdrawn:
        raise NotAllowed(f"{depot} had a place {same.name}, which is withdrawn: take another name.")
    raise NotAllowed(
        f"{depot} has a place {same.name} already: take another name, or withdraw one into the other."
    )


def _refuse_withdrawn(place: Place) -> None:
    if place.withdrawn:
        raise NotAllowed(f"{place} is withdrawn already: load the page again.")


def _refuse_without(why: str, what: str) -> None:
    if not why.strip():
        raise NotAllowed(f"Say why {what}.")
