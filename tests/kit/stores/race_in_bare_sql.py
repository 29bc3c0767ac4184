"""The same races in bare SQL, without the turn that actions take: the database alone stands in between.

Rounds take turns at what is raced: a promise of one piece to two jobs, six of a lot of ten for each of two jobs,
and an issue against a quarantine.
"""

from typing import Any

from django.db import IntegrityError, connection, transaction

from kit.stores import acting, reserve
from tests.kit.stores.race_depot import SETTER, afterwards, job, one_piece, piece

RACES = ("piece", "lot", "issue")
PROMISE = (
    "INSERT INTO kit_reservation (job_id, line_id, item_id, counted, quantity, starts, ends, standing, why, outcome)"
    " VALUES (%s, %s, %s, %s, %s, %s, %s, 'promised', '', '')"
)


def set_up(round_number: int) -> dict[str, Any]:
    race = RACES[round_number % 3]
    given = one_piece(round_number, counted=race == "lot")
    if race == "issue":
        with acting(SETTER) as deed:
            reserve(deed, job(given["jobs"][0]))
    return {**given, "race": race, "issuer": round_number // 3 % 2}


def act(process: int, given: dict[str, Any]) -> dict[str, Any]:
    item = piece(given["tag"])
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            if given["race"] != "issue":
                mine = job(given["jobs"][process])
                line = mine.arrangement.lines.get()
                values = [
                    mine.pk,
                    line.pk,
                    item.pk,
                    item.counted,
                    line.quantity,
                    mine.load_on,
                    mine.return_on,
                ]
                cursor.execute(PROMISE, values)
            elif process == given["issuer"]:
                cursor.execute(
                    "UPDATE kit_reservation SET standing = 'issued', issued_on = starts WHERE item_id = %s",
                    [item.pk],
                )
            else:
                cursor.execute(
                    "UPDATE kit_item SET state = 'quarantined', state_why = 'torn' WHERE id = %s", [item.pk]
                )
    except IntegrityError as refusal:
        return {"refused": str(refusal).splitlines()[0]}
    return {"did": "it"}


def look(given: dict[str, Any]) -> dict[str, Any]:
    return afterwards(given)
