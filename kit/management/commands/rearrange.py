"""Choose anew what all jobs are promised that are not issued yet: propose it, or promise it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from kit.management.base import TradeCommand
from kit.planning.rearranging import plan_json, plan_text
from kit.stores import acting, apply_plan, propose_plan
from kit.stores.rearrange import Move


class Command(TradeCommand):
    help = (
        "The best that can be promised to all jobs that are not issued: fewest jobs short, fewest pieces short, fewest "
        "promises changed. Nothing is promised without --apply. Exit 1 if a job stays short."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--apply", action="store_true", help="promise it")
        self.add_output(parser, "text", "json")

    def run(self, **options: Any) -> int:
        proposed = propose_plan(None, timezone.localdate())
        if options["apply"]:
            with acting(self.who()) as act:
                jobs = apply_plan(act, proposed)
            self.say(f"Applied: {jobs} {'job' if jobs == 1 else 'jobs'} rearranged.")
            for move in proposed.moves.moves:
                if move.waits:
                    self.say(_waits(move))
        if options["format"] == "json":
            self.emit_json(plan_json(proposed.plan), options["output"])
        else:
            self.emit(plan_text(proposed.plan), options["output"])
        return 1 if proposed.plan.jobs_short else 0


def _waits(move: Move) -> str:
    """What is not promised to a job yet, and what is not let go yet."""
    stays = f", and it keeps {', '.join(held.tag for held in move.stays)} till then" if move.stays else ""
    return (
        f"{move.job} is not promised {', '.join(move.waits)} yet: a work must be done first{stays}. "
        "Have the plan made anew once it is done."
    )
