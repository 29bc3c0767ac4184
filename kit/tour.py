"""A tour of about ten minutes by role: which screen to open, what to look at there, and what a person has seen.

It is laid out for the demo, where every step has something to show; on a register of one's own a step that finds
nothing leads to the list. What was seen is nothing of the register: it stands beside the ledger.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from kit.models import Role, TourStep


@dataclass(frozen=True, slots=True)
class Step:
    """One screen for one role (none: for everybody), what to look at, and words that stand on it; `to` finds it."""

    slug: str
    role: str
    name: Any
    look: Any
    shows: Any
    to: str


STEPS: Sequence[Step] = (
    Step(
        "vans",
        Role.STORES,
        _("Your day at the counter"),
        _(
            "Today opens with the vans to load and what is expected back. Whatever no longer holds "
            "stands in sight."
        ),
        _("To load"),
        "today",
    ),
    Step(
        "counter",
        Role.STORES,
        _("The counter"),
        _(
            "The scan box has the focus: a scanner types into it. Type the tag of any piece and press "
            "Enter to see what may be done with it."
        ),
        _("Scan a tag or a job"),
        "counter",
    ),
    Step(
        "coming-back",
        Role.STORES,
        _("A van that is out"),
        _(
            "What is still out, piece by piece. Used, damaged or missing is said here; a damaged piece "
            "is set aside at once."
        ),
        _("Still out"),
        "job_out",
    ),
    Step(
        "set-aside",
        Role.STORES,
        _("A piece that was set aside"),
        _(
            "Its page says first whether it may go out, and why not. Further down stands its whole "
            "story, entry by entry."
        ),
        _("Whether it may go out"),
        "quarantined",
    ),
    Step(
        "counting",
        Role.STORES,
        _("Counting the store"),
        _(
            "A count of a place or of the whole depot, by scanner; what was issued meanwhile is "
            "explained and not called missing."
        ),
        _("Begin a count"),
        "stock_takes",
    ),
    Step(
        "board",
        Role.PLANNER,
        _("The plan over days"),
        _(
            "Each job as a length of main from loading to return, with how its kit stands. Move one "
            "with the arrow keys: nothing happens before a press."
        ),
        _("On paper, a sheet a week"),
        "plan_board",
    ),
    Step(
        "breaks",
        Role.PLANNER,
        _("What no longer holds"),
        _(
            "A promised bag failed its test this week. Here stands which promises break by it, and "
            "beside each the press that mends it."
        ),
        _(
            "In the order in which it bites: fewest days first, then the weightier job, then where more "
            "pieces have no substitute."
        ),
        "breaks",
    ),
    Step(
        "short",
        Role.PLANNER,
        _("A job that is short"),
        _(
            "Open the panel: the fewest inspections, transfers or purchases that would fill each line, "
            "each with the link that does it."
        ),
        _("What would make it whole"),
        "job_short",
    ),
    Step(
        "rearrange",
        Role.PLANNER,
        _("Every promise chosen anew"),
        _(
            "What all planned jobs could have if every promise were chosen again, and whether it is "
            "proven that nothing is better."
        ),
        _("What it is worth"),
        "rearranged",
    ),
    Step(
        "stops",
        Role.PLANNER,
        _("What can be mounted when"),
        _(
            "How many stops of a pattern and size could be mounted at once on each day, and what would "
            "give one more."
        ),
        _("What to count"),
        "readiness",
    ),
    Step(
        "bench",
        Role.EXAMINER,
        _("Your bench"),
        _("What falls due, what is promised soonest first. A scan opens the check of that piece."),
        _("What is promised soonest comes first, then what is due first; what is out on site comes last."),
        "bench",
    ),
    Step(
        "hold",
        Role.EXAMINER,
        _("Hold tests"),
        _("Up to five bags side by side. The clocks run in the database: leave the page and they go on."),
        _("Hold test bench"),
        "hold_bench",
    ),
    Step(
        "failed",
        Role.EXAMINER,
        _("A bag that failed"),
        _(
            "In its story stand the readings, the verdict and which promises broke. A later pass never "
            "hides it."
        ),
        _("Its story"),
        "failed",
    ),
    Step(
        "due",
        Role.EXAMINER,
        _("What falls due"),
        _("The due day itself is still in date. Narrow the list, tick pieces, write them out."),
        _(
            "An item is in date on its due day itself and overdue the day after. Withdrawn and lost "
            "items are left out."
        ),
        "due",
    ),
    Step(
        "loading",
        Role.CREW,
        _("Your load list"),
        _(
            "In the order of the walk round the store, one box a piece. It prints on one sheet, with "
            "the cautions at its end."
        ),
        _("Cautions"),
        "load_list",
    ),
    Step(
        "report",
        Role.CREW,
        _("Reporting a piece that failed"),
        _(
            "One sentence and a press set it aside, from the van too. Say what happened; whoever looks "
            "into it asks you."
        ),
        _("Set aside"),
        "report",
    ),
    Step(
        "crew-piece",
        Role.CREW,
        _("Whether a piece may go"),
        _(
            "Any piece by its tag: until when it is fit by what is recorded, and why. The operator's "
            "procedure decides on site."
        ),
        _("Whether it may go out"),
        "failed",
    ),
    Step(
        "overdue",
        Role.COMPLIANCE,
        _("What is overdue"),
        _("The list for the morning, and its spreadsheet with the query and the day written in."),
        _(
            "An item is in date on its due day itself and overdue the day after. Withdrawn and lost "
            "items are left out."
        ),
        "due",
    ),
    Step(
        "ledger",
        Role.COMPLIANCE,
        _("The ledger"),
        _(
            "Every act with who, when and from where. One press reads the chain of all entries and "
            "replays them."
        ),
        _("Prove the ledger now"),
        "ledger",
    ),
    Step(
        "kind",
        Role.COMPLIANCE,
        _("Changing a rule"),
        _(
            "Set the margin to 60 days and look: which promises would break is told, and "
            "nothing is written until you record it."
        ),
        _("See what it changes"),
        "kind",
    ),
    Step(
        "people",
        Role.COMPLIANCE,
        _("Who may do what"),
        _("Roles by person and depot. Each change needs a reason and is shown before it applies."),
        _("Add a person"),
        "people",
    ),
    Step(
        "granted",
        Role.COMPLIANCE,
        _("Concessions"),
        _(
            "What was extended, by whom, until when, and how often. A fail or a quarantine is never "
            "among them."
        ),
        _("How many were granted"),
        "concessions",
    ),
    Step(
        "asked",
        Role.DUTY,
        _("What waits for you"),
        _(
            "One concession is asked for and waits for somebody who did not ask. Open it: bounds, risk "
            "and conditions stand together."
        ),
        _("How many were granted"),
        "concessions",
    ),
    Step(
        "knew",
        Role.DUTY,
        _("What was known on that day"),
        _("Choose a day: what the book knew then beside what it knows now of that day."),
        _("What did we know of"),
        "knew",
    ),
    Step(
        "jobs",
        Role.DUTY,
        _("Jobs and their kit"),
        _("All jobs with how their kit stands, in shape and word, never in colour alone."),
        _("Jobs"),
        "jobs",
    ),
    Step(
        "words",
        "",
        _("Words to look up"),
        _(
            "Every word of these pages and the rules behind them. It is at the foot of every page, "
            "beside the sheet of keys."
        ),
        _("Words and rules"),
        "words",
    ),
)


def steps_for(roles: Collection[str]) -> list[Step]:
    """The steps of these roles, in order."""
    return [step for step in STEPS if not step.role or step.role in roles]


def seen_by(user: User) -> set[str]:
    return set(TourStep.objects.filter(user=user).values_list("slug", flat=True))


def mark(user: User, slug: str, seen: bool) -> None:
    """Note that the person has seen a step, or wants to see it again."""
    if seen:
        TourStep.objects.get_or_create(user=user, slug=slug, defaults={"seen_at": timezone.now()})
    else:
        TourStep.objects.filter(user=user, slug=slug).delete()
