"""What examiners and compliance leads do, one module an action; each runs in an Act of the store."""

from inspections.actions.record import Finding, record, record_many
from inspections.actions.regimes import CheckSpec, set_checks
from inspections.actions.release import barred_from_release, release

__all__ = ["CheckSpec", "Finding", "barred_from_release", "record", "record_many", "release", "set_checks"]
