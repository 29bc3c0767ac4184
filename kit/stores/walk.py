"""The walk round a store: in which order its places are come to when a van is loaded."""

from __future__ import annotations

from collections.abc import Mapping

from kit.models import Deed, Depot, Place
from kit.stores.act import Act, NotAllowed


def set_walk(act: Act, depot: Depot, walk: Mapping[int, int]) -> bool:
    """Set where each place comes in the walk, by the key of the place; True if any differs.

    Raises NotAllowed for a place of another depot.
    """
    places = {place.pk: place for place in Place.objects.filter(depot=depot)}
    if strange := set(walk) - set(places):
        raise NotAllowed(f"{len(strange)} of these places are not of {depot}: load the page again.")
    changed = [places[key] for key, order in walk.items() if act.change(places[key], walk=order)]
    if changed:
        names = ", ".join(place.name for place in Place.objects.filter(depot=depot).order_by("walk", "name"))
        act.tell(Deed.CHANGED, [depot], note=f"walk round the store: {names}"[:2000])
    return bool(changed)
