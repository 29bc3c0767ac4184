"""Every verdict that was computed, worked out anew from its readings under the rule that judged it. Reads only."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from inspections.actions.form_checks import form_figures
from inspections.judging import (
    Calibration,
    HoldTest,
    judge_answers,
    judge_calibration,
    judge_hold_test,
    read_answers,
)
from inspections.limits import calibration_limits, form_of, hold_limits, stated_in
from inspections.models import CheckVersion, Inspection, Method
from kit.models import Item


class Outcome(NamedTuple):
    """What readings say: the verdict as found, as left ("" where nothing was read so), figures and why."""

    verdict: str
    as_left: str
    figures: dict[str, Any]
    why: str


@dataclass(frozen=True, slots=True)
class ComputedAnew:
    """One stored verdict beside the one computed now. `anew` None: it cannot be computed, `fault` says why."""

    tag: str
    check: str
    done_on: date
    number: int
    stored: Outcome
    anew: Outcome | None
    fault: str = ""

    @property
    def differences(self) -> list[str]:
        """In words, what is stored otherwise than it is computed; empty if all is the same."""
        if self.anew is None:
            return [f"it cannot be computed: {self.fault}"]
        found = []
        for name, words in (("verdict", "verdict"), ("as_left", "verdict as left"), ("figures", "figures")):
            stored, anew = getattr(self.stored, name), getattr(self.anew, name)
            if stored != anew:
                found.append(f"{words} stored {_said(stored)}, computed {_said(anew)}")
        return found

    def as_dict(self) -> dict[str, Any]:
        """As the command `verdicts` gives it in JSON."""
        return {
            "tag": self.tag,
            "check": self.check,
            "done_on": self.done_on.isoformat(),
            "verdict": self.anew.verdict if self.anew else None,
            "stored": self.stored.verdict,
            "figures": self.anew.figures if self.anew else {},
            "why": self.anew.why if self.anew else self.fault,
        }


def verdicts_anew(item: Item | None = None) -> list[ComputedAnew]:
    """All records with readings (of one item), corrected ones among them; by tag, check, day, order of recording."""
    rows = Inspection.objects.exclude(readings={}).select_related("item", "check_done", "version")
    if item is not None:
        rows = rows.filter(item=item)
    found = list(_computed(rows.order_by("pk").iterator(2000)))
    # Sorted here, because engines order letters each in their own way.
    return sorted(found, key=lambda each: (each.tag, each.check, each.done_on, each.number))


def _computed(rows: Iterator[Inspection]) -> Iterator[ComputedAnew]:
    for row in rows:
        anew, fault = None, ""
        try:
            anew = outcome_of(row.readings, row.version, row.done_on)
        except KeyError as error:
            fault = f"its readings lack {error}."
        except (ValueError, TypeError, AttributeError) as error:
            # Whatever was done to what is stored, it is named, and the rest is looked at.
            fault = str(error)
        stored = Outcome(row.verdict, row.as_left, row.figures, row.why)
        yield ComputedAnew(row.item.tag, row.check_done.name, row.done_on, row.pk, stored, anew, fault)


def outcome_of(readings: dict[str, Any], version: CheckVersion | None, done_on: date) -> Outcome:
    """What stored readings say under a version. Raises ValueError (JudgingFault, FormFault) if they say nothing."""
    if version is None:
        raise ValueError("no rule is kept with it.")
    method = readings["method"]
    if method == Method.HOLD_TEST:
        held = judge_hold_test(
            HoldTest.from_json(readings["test"]), hold_limits(version, stated_in(readings))
        )
        return Outcome(held.verdict, "", _stored(held.figures()), held.why)
    if method == Method.CALIBRATION:
        calibration = Calibration.from_json(readings["calibration"])
        found = judge_calibration(calibration, calibration_limits(version))
        return Outcome(found.verdict, found.as_left or "", _stored(found.figures()), found.why)
    if method == "form":
        form = form_of(version)
        answers = read_answers(form, readings["answers"], done_on)
        if isinstance(answers, list):
            raise ValueError(" ".join(fault.sentence for fault in answers))
        judged = judge_answers(form, answers, done_on)
        return Outcome(judged.verdict, "", _stored(form_figures(judged)), judged.why)
    raise ValueError(f"readings of the method {method!r} are not known.")


def _stored(figures: dict[str, Any]) -> dict[str, Any]:
    """As they come back from a column of JSON."""
    stored: dict[str, Any] = json.loads(json.dumps(figures))
    return stored


def _said(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict) else value or "none"
