"""Plug the inspections into the store, which does not import them (see kit.ports)."""


def plug_in() -> None:
    from inspections.actions.found import found_checks
    from inspections.judge import InspectionsJudge
    from inspections.models import Check, Inspection, UseCall
    from inspections.workbooks import ChecksLoader, InspectionsLoader
    from kit.ports import ports

    ports.judge = InspectionsJudge()
    ports.ledger_models[:] = [Check, Inspection, UseCall]
    ports.founders[:] = [found_checks]
    ports.sheet_loaders.update({"Checks": ChecksLoader, "Inspections": InspectionsLoader})
