"""The demo set up inside a test, and what its kit lists say."""

from __future__ import annotations

from collections import Counter
from io import StringIO

from django.core.management import call_command
from django.test import override_settings

from demo_fixtures.jobs import PAST_JOB
from kit.models import Job
from kit.planning import KitList
from kit.stores import kit_list_of

QUICK_PASSWORDS = override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"])


def run_demo() -> str:
    said = StringIO()
    with QUICK_PASSWORDS:
        call_command("demo", no_serve=True, stdout=said)
    return said.getvalue()


def kit_lists(all_depots: bool = False) -> dict[str, KitList]:
    jobs = Job.objects.exclude(reference=PAST_JOB).select_related("depot", "arrangement")
    return {job.reference: kit_list_of(job, all_depots=all_depots) for job in jobs}


def codes(kits: dict[str, KitList]) -> Counter[str]:
    return Counter(reason.code for kit in kits.values() for each in kit.refused for reason in each.reasons)


def short(kit: KitList) -> dict[str, int]:
    return {line.line.name: line.short for line in kit.lines if line.short}
