"""What a trial plan comes to, as its page shows it: from the plain values that were noted."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from kit.pictures import picture_of_stops
from kit.planning.readiness import Day


def shown(answer: dict[str, Any]) -> dict[str, Any]:
    """The page's figures, picture and jobs from an answer of `kit.stores.what_if.weigh_up`."""
    now, trial = answer["now"], answer["trial"]
    today, then = _days(now["stops"]), _days(trial["stops"])
    return {
        "figures": [
            _figure(_("jobs whole"), now["whole"], trial["whole"], more_is_better=True),
            _figure(_("jobs short"), now["jobs_short"], trial["jobs_short"], more_is_better=False),
            _figure(_("pieces short"), now["pieces_short"], trial["pieces_short"], more_is_better=False),
            _figure(_("promises changed"), now["changes"], trial["changes"], more_is_better=False),
            _figure(
                _("inspections and transfers counted on"), now["works"], trial["works"], more_is_better=False
            ),
            _figure(
                _("stops left over, all days"),
                sum(day.stops for day in today),
                sum(day.stops for day in then),
                more_is_better=True,
            ),
            _figure(
                _("days without a stop left over"),
                sum(1 for day in today if not day.stops),
                sum(1 for day in then if not day.stops),
                more_is_better=False,
            ),
        ],
        "proven": now["proven"] and trial["proven"],
        "picture": picture_of_stops(then, beside=today, words=(_("with this plan"), _("as it is"))),
        "jobs": _jobs(now["jobs"], trial["jobs"]),
        "not_made": answer["not_made"],
        "unlike": [
            {"day": after.day, "now": before.stops, "then": after.stops}
            for before, after in zip(today, then, strict=True)
            if before.stops != after.stops
        ],
    }


def _days(kept: list[dict[str, Any]]) -> list[Day]:
    return [Day(date.fromisoformat(day["date"]), day["stops"], tuple(day["limited_by"])) for day in kept]


def _figure(what: str, now: int, then: int, more_is_better: bool) -> dict[str, Any]:
    """A figure on both sides, and in words whether it is better."""
    if now == then:
        word = _("the same")
    elif (then > now) == more_is_better:
        word = _("better by %(n)s") % {"n": abs(then - now)}
    else:
        word = _("worse by %(n)s") % {"n": abs(then - now)}
    return {"what": what, "now": now, "then": then, "word": word}


def _jobs(now: list[dict[str, Any]], trial: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The jobs that stand otherwise with the plan, or are short on either side, in the order of loading."""
    before, after = ({job["job"]: job for job in side} for side in (now, trial))
    rows = []
    for name in {**before, **after}:
        one, other = before.get(name), after.get(name)
        if one == other and not (one and one["short"]):
            continue
        rows.append(
            {"job": name, "known": one is not None, "now": one and _job(one), "then": other and _job(other)}
        )
    return sorted(rows, key=lambda row: ((row["then"] or row["now"])["load_on"], row["job"]))


def _job(job: dict[str, Any]) -> dict[str, Any]:
    return {
        "load_on": date.fromisoformat(job["load_on"]),
        "return_on": date.fromisoformat(job["return_on"]),
        "short": ", ".join(f"{line} {number}" for line, number in job["short"]),
    }
