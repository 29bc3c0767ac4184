"""One person scans a reserved piece out while another sets it aside. They change roles from round to round."""

from typing import Any

from kit.stores import NotAllowed, acting, issue_piece, quarantine, reserve
from tests.kit.stores.race_depot import SETTER, afterwards, job, one_piece, piece, racer, said


def set_up(round_number: int) -> dict[str, Any]:
    given = one_piece(round_number, jobs=1)
    with acting(SETTER) as deed:
        reserve(deed, job(given["jobs"][0]))
    return {**given, "issuer": round_number % 2}


def act(process: int, given: dict[str, Any]) -> dict[str, Any]:
    try:
        with acting(racer(process)) as deed:
            if process == given["issuer"]:
                issue_piece(deed, job(given["jobs"][0]), piece(given["tag"]))
                return {"did": "issued"}
            quarantine(deed, piece(given["tag"]), "torn")
            return {"did": "quarantined"}
    except NotAllowed as refusal:
        return said(refusal)


def look(given: dict[str, Any]) -> dict[str, Any]:
    return afterwards(given)
