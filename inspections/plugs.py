"""Plug the inspections into the store, which does not import them (see kit.ports)."""

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext_lazy


def plug_in() -> None:
    from inspections import models
    from inspections.actions.cases import case_number, hear, hear_received
    from inspections.actions.found import found_checks
    from inspections.actions.regimes import bring_into_force
    from inspections.files import prove_files
    from inspections.judge import InspectionsJudge
    from inspections.last_inspections import last_inspections
    from inspections.views import (
        case_panels,
        certificates,
        concessions,
        due,
        failure_panels,
        files,
        gauge_panels,
        panels,
        photo_panels,
        quarantine,
        review_panels,
        today_steps,
    )
    from inspections.workbooks import (
        CalibrationsLoader,
        ChecksLoader,
        HoldTestsLoader,
        InspectionsLoader,
        ReadingsLoader,
    )
    from kit.ports import ports
    from kit.roles import MAY
    from kit.stores.morning import judge_the_day

    ports.judge = InspectionsJudge()
    ports.ledger_models[:] = [
        models.Check,
        models.CheckVersion,
        models.Inspection,
        models.UseCall,
        models.RetestCall,
        models.QuarantineCase,
        models.CaseNote,
        models.CaseCompanion,
        models.Concession,
        models.Attachment,
        models.Review,
        models.ReviewedRecord,
    ]
    ports.at_start[:] = [bring_into_force, judge_the_day]
    ports.moved[:] = [hear]
    ports.received_so[:] = [hear_received]
    ports.case_of = case_number
    ports.last_inspections = last_inspections
    ports.proofs[:] = [prove_files]
    ports.founders[:] = [found_checks]
    ports.sheet_loaders.update(
        {
            "Checks": ChecksLoader,
            "Readings": ReadingsLoader,
            "Inspections": InspectionsLoader,
            "Calibrations": CalibrationsLoader,
            "Hold tests": HoldTestsLoader,
        }
    )
    ports.item_panels[:] = [
        panels.item_checks,
        certificates.item_panel,
        concessions.item_panel,
        gauge_panels.item_panel,
        files.item_files,
        review_panels.item_panel,
        case_panels.item_cases,
    ]
    ports.item_ways[:] = [panels.item_ways, case_panels.item_ways]
    ports.kind_panels[:] = [failure_panels.kind_panel, photo_panels.kind_panel]
    ports.batch_panels[:] = [failure_panels.batch_panel, photo_panels.batch_panel]
    ports.job_panels[:] = [certificates.job_panel, photo_panels.job_panel]
    ports.job_ways[:] = [panels.job_ways]
    ports.today_steps[:] = [today_steps.bench, today_steps.decide]
    ports.today_panels[:] = [
        panels.bench,
        panels.overdue,
        concessions.today_panel,
        review_panels.today_panel,
        case_panels.today_cases,
    ]
    ports.listings.update({listing.name: listing for listing in (due.LISTING, quarantine.LISTING)})
    add_to_navigation(MAY["inspect"], gettext_lazy("Bench"), "bench", "bench")
    add_to_navigation(MAY["see"], gettext_lazy("Due list"), "due", "due")
    add_to_navigation(MAY["quarantine"], gettext_lazy("Quarantine"), "quarantine", "quarantine")
    add_to_navigation(MAY["release"], gettext_lazy("Reviews"), "reviews", "recall")
    add_to_navigation(
        MAY["grant concession"] | MAY["ask concession"],
        gettext_lazy("Concessions"),
        "concessions",
        "evidence",
    )
    add_to_navigation(MAY["set checks"], gettext_lazy("Kinds and checks"), "kinds", "settings")


def add_to_navigation(roles: Iterable[str], label: Any, url_name: str, icon: str) -> None:
    """A further entry of the main navigation; plugging in twice leaves it there once."""
    from kit.ports import ports

    if not any(name == url_name for _roles, _label, name, _icon in ports.navigation):
        ports.navigation.append((roles, label, url_name, icon))
