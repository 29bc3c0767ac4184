"""Draw up the kit list of a job, and reserve it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from kit.management.base import TradeCommand
from kit.models import Job
from kit.papers.from_store import load_list_of, said_of_pieces
from kit.planning import KitList, to_json
from kit.planning.refusal import Refusal, change_text, purchase_text
from kit.stores import acting, bore_of, reserve
from kit.stores.ways_out import told_kit_list
from kit.workbooks.kit_list import kit_list_workbook
from kit.workbooks.sheets import nearest_name


class Command(TradeCommand):
    help = (
        "The kit list of JOB: what is chosen, what is refused and why, what is short. Exit 1 if it is short."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", metavar="JOB", help="reference of the job")
        parser.add_argument("--reserve", action="store_true", help="reserve what is chosen")
        parser.add_argument("--all-depots", action="store_true", help="look at the items of all depots")
        self.add_as_of(parser)
        self.add_output(parser, "text", "json", "pdf", "xlsx")

    def run(self, **options: Any) -> int:
        job = self._job(options["job"])
        as_of = self.as_of(options)
        if options["reserve"]:
            with acting(self.who()) as act:
                reserve(act, job, as_of)
            job.refresh_from_db()
        told = told_kit_list(job, as_of, all_depots=options["all_depots"])
        kit = told.kit
        warning = bore_of(job)[2]
        if warning:
            self.say(warning)
        match options["format"]:
            case "json":
                self.emit_json(to_json(kit), options["output"])
            case "pdf":
                from kit.papers import load_list_pdf

                self.emit(load_list_pdf(load_list_of(job, kit)), options["output"])
            case "xlsx":
                self.emit(kit_list_workbook(kit, said_of_pieces(job, kit)), options["output"])
            case _:
                self.emit(as_text(kit, told.refusal), options["output"])
        return 0 if kit.complete else 1

    def _job(self, reference: str) -> Job:
        job = Job.objects.select_related("depot", "arrangement").filter(reference=reference).first()
        if job is None:
            near = nearest_name(reference, Job.objects.values_list("reference", flat=True))
            hint = f" Did you mean {near}?" if near else ""
            raise self.refuse(f"There is no job {reference} in the register.{hint}")
        return job


def as_text(kit: KitList, refusal: Refusal | None = None) -> str:
    """The kit list for a terminal."""
    need = kit.need
    bore = f"{need.bore_mm} mm bore" if need.bore_mm is not None else "bore not known"
    out = [
        f"Kit list of {need.job} at {need.depot}, {bore}, loading {need.load_on}, back {need.return_on}, "
        f"as of {kit.as_of}: {'complete' if kit.complete else 'SHORT'}"
    ]
    for row in kit.lines:
        line = row.line
        pieces = [f"{lot} x {quantity}" for lot, quantity in row.lots] if line.counted else list(row.tags)
        out.append(f"  {line.name} ({line.quantity} x {line.kind}): {', '.join(pieces) or 'none'}")
        if row.short:
            soonest = (
                f"full on {row.soonest} at the soonest" if row.soonest else "no day known on which it is full"
            )
            out.append(f"    short of {row.short}; {soonest}. {row.remedy}")
    if refusal is not None:
        out.extend(_whole(refusal))
    if kit.refused:
        out.append("Refused:")
    for refused in kit.refused:
        out.append(f"  {refused.tag} for {refused.line}:")
        out.extend(f"    {reason.code}: {reason.text}" for reason in refused.reasons)
    if kit.also_fit:
        out.append("Also fit: " + ", ".join(f"{fit.tag} ({fit.line})" for fit in kit.also_fit))
    return "\n".join(out) + "\n"


def _whole(refusal: Refusal) -> list[str]:
    """What would make the whole job full: the fewest changes, one a row, and the soonest day without any."""
    whole = refusal.whole
    steps = [*whole.enter, *(change_text(change) for change in whole.changes)]
    steps += [f"buy or borrow {purchase_text(each)}" for each in whole.buy]
    proven = "" if whole.proven else ", not proven to be the fewest"
    out = [f"What would make it whole ({whole.count} {'change' if whole.count == 1 else 'changes'}{proven}):"]
    out.extend(f"  {step}" for step in steps)
    if refusal.soonest is not None:
        out.append(f"  or load on {refusal.soonest} at the soonest")
    return out
