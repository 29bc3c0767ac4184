"""Two people scan the same piece out at once: for one job that has it reserved, or for two that want one."""

from typing import Any

from kit.stores import NotAllowed, acting, issue_piece, reserve
from tests.kit.stores.race_depot import SETTER, afterwards, job, one_piece, piece, racer, said


def set_up(round_number: int) -> dict[str, Any]:
    given = one_piece(round_number)
    if round_number % 2:
        return given
    with acting(SETTER) as deed:
        reserve(deed, job(given["jobs"][0]))
    return {**given, "jobs": given["jobs"][:1] * 2}


def act(process: int, given: dict[str, Any]) -> dict[str, Any]:
    try:
        with acting(racer(process)) as deed:
            issue_piece(deed, job(given["jobs"][process]), piece(given["tag"]))
    except NotAllowed as refusal:
        return said(refusal)
    return {"did": "issued"}


def look(given: dict[str, Any]) -> dict[str, Any]:
    return afterwards(given)
