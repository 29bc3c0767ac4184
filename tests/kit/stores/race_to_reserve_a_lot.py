"""Two people reserve six seals each at once, and the lot holds ten."""

from typing import Any

from kit.stores import NotAllowed, acting, reserve
from tests.kit.stores.race_depot import afterwards, job, one_piece, racer, said


def set_up(round_number: int) -> dict[str, Any]:
    return one_piece(round_number, counted=True)


def act(process: int, given: dict[str, Any]) -> dict[str, Any]:
    try:
        with acting(racer(process)) as deed:
            kit = reserve(deed, job(given["jobs"][process]))
    except NotAllowed as refusal:
        return said(refusal)
    [line] = kit.lines
    return {"lots": [list(lot) for lot in line.lots], "short": line.short}


def look(given: dict[str, Any]) -> dict[str, Any]:
    return afterwards(given)
