"""What must hold of consignments at every moment, as sentences on what does not. Reckoned from the rows alone."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterator

from tests.kit.stores.reckoning import Reckoning, Row

WAITING = ("", "missing")
ORDER = {"": 0, "missing": 1, "arrived": 2, "back": 2}


def transfer_faults(now: Reckoning) -> list[str]:
    rules = (
        an_item_is_on_one_way_at_most,
        custody_follows_the_consignment,
        what_is_missing_is_nowhere,
        two_people_signed,
        closed_when_nothing_is_on_the_way,
        no_signature_is_taken_back,
    )
    return [f"{rule.__name__}: {what}" for rule in rules for what in rule(now)]


def _waiting(now: Reckoning) -> dict[int, list[Row]]:
    """By item, the lines that nobody has closed: on the way, or missing and not found since."""
    found: dict[int, list[Row]] = defaultdict(list)
    for line in now.tables["transferline"]:
        if line["outcome"] in WAITING:
            found[line["item_id"]].append(line)
    return found


def an_item_is_on_one_way_at_most(now: Reckoning) -> Iterator[str]:
    for item, lines in _waiting(now).items():
        if len(lines) > 1:
            yield f"{now.by_id['item'][item]['tag']} is on {len(lines)} consignments"


def custody_follows_the_consignment(now: Reckoning) -> Iterator[str]:
    waiting = _waiting(now)
    for item in now.tables["item"]:
        lines = waiting.get(item["id"], [])
        if (item["custody"] == "in-transit") != bool(lines):
            yield f"{item['tag']} is {item['custody']} and on {len(lines)} consignments"
        for line in lines:
            transfer = now.by_id["transfer"][line["transfer_id"]]
            way = (item["depot_id"], item["transit_to_id"], item["sent_by"])
            if way != (transfer["from_depot_id"], transfer["to_depot_id"], transfer["sent_by"]):
                yield f"{item['tag']} travels otherwise than consignment {transfer['number']}"
            if line["outcome"] == "" and item["arrives_on"] != transfer["arrives_on"]:
                yield f"{item['tag']} is expected on {item['arrives_on']}, its consignment {transfer['arrives_on']}"
            if item["counted"] and item["quantity"] != line["quantity"]:
                yield f"{item['quantity']} of {item['tag']} travel, sent were {line['quantity']}"
        if item["custody"] != "in-transit" and (
            item["transit_to_id"] or item["arrives_on"] or item["sent_by"]
        ):
            yield f"{item['tag']} is in no transit and still goes somewhere"


def what_is_missing_is_nowhere(now: Reckoning) -> Iterator[str]:
    """Nothing promised counts on a piece that was not in its consignment."""
    for item, lines in _waiting(now).items():
        row = now.by_id["item"][item]
        if any(line["outcome"] == "missing" for line in lines) and row["state"] not in (
            "lost",
            "quarantined",
        ):
            yield f"{row['tag']} is missing from its consignment and {row['state']}"


def two_people_signed(now: Reckoning) -> Iterator[str]:
    for line in now.tables["transferline"]:
        transfer = now.by_id["transfer"][line["transfer_id"]]
        if line["outcome"] and line["arrived_by"] in ("", transfer["sent_by"]):
            yield f"line {line['id']} of {transfer['number']} is signed for by {line['arrived_by']!r}"
        if line["outcome"] and line["arrived_on"] < transfer["sent_on"]:
            yield f"line {line['id']} arrived on {line['arrived_on']}, sent on {transfer['sent_on']}"


def closed_when_nothing_is_on_the_way(now: Reckoning) -> Iterator[str]:
    open_lines = Counter(line["transfer_id"] for line in now.tables["transferline"] if line["outcome"] == "")
    for transfer in now.tables["transfer"]:
        if transfer["closed"] != (open_lines[transfer["id"]] == 0):
            yield f"{transfer['number']} is closed: {transfer['closed']}, on the way: {open_lines[transfer['id']]}"


def no_signature_is_taken_back(now: Reckoning) -> Iterator[str]:
    reached: dict[int, str] = {}
    for entry in now.tables["ledgerentry"]:
        for label, number, values in json.loads(entry["body"])["rows"]:
            if label != "kit.transferline" or "outcome" not in values:
                continue
            before, after = reached.get(number, ""), values["outcome"]
            if ORDER[after] < ORDER[before] or (ORDER[before] == 2 and after != before):
                yield f"line {number} was {before!r}, then {after!r} in entry {entry['number']}"
            reached[number] = after
