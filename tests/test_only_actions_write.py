"""Rows change only through an Act, which writes the ledger with them: nothing else in the program writes."""

import ast
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

TOP = Path(__file__).resolve().parent.parent
WRITERS = {"create", "bulk_create", "bulk_update", "get_or_create", "update_or_create", "update", "delete"}
MAY_WRITE = ("kit/stores/act.py", "kit/migrations/", "inspections/migrations/")
# What can be derived again at any time: written in the transaction of the action that moves it.
DERIVED_ONLY = {"inspections/judge.py": "Due", "kit/stores/refit.py": "Item"}
# What people set for themselves about mail and their calendar: nothing of the register, so the ledger tells of none.
PERSONAL = {
    "inspections/wishes.py": {"FeedKey", "MailSent", "MailWish", "User"},
    "kit/calendar_keys.py": {"CrewCalendarKey"},
    # A trial plan touches nothing.
    "kit/trial_plans.py": {"TrialPlan"},
    # Which steps of the tour somebody has seen.
    "kit/tour.py": {"TourStep"},
    "kit/saved_views.py": {"SavedView", "UsualView"},
}


def writes_in(source: str) -> list[tuple[int, str]]:
    """Each call such as Item.objects.filter(...).update(...) or row.save(): its line, what it starts from."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        chain, start = [], node.func.value
        while isinstance(start, ast.Attribute | ast.Call):
            if isinstance(start, ast.Attribute):
                chain.append(start.attr)
                start = start.value
            else:
                start = start.func
        name = start.id if isinstance(start, ast.Name) else "?"
        at_a_row = node.func.attr in {"save", "delete"} and not node.args
        at_a_manager = node.func.attr in WRITERS and {"objects", "_default_manager"} & set(chain)
        if at_a_row or at_a_manager:
            found.append((node.lineno, name))
    return found


def test_nothing_but_an_act_writes():
    against = []
    for package in ("kit", "inspections"):
        for path in sorted((TOP / package).rglob("*.py")):
            name = path.relative_to(TOP).as_posix()
            if name.startswith(MAY_WRITE):
                continue
            for line, start in writes_in(path.read_text(encoding="utf-8")):
                if DERIVED_ONLY.get(name) != start and start not in PERSONAL.get(name, ()):
                    against.append(f"{name}:{line} ({start})")
    assert not against


@pytest.mark.parametrize(
    "source",
    [
        "Item.objects.create(tag='B1')",
        "Item.objects.filter(tag='B1').update(state='lost')",
        "job.lines.objects.select_related('item').exclude(pk=1).delete()",
        "item.save()",
        "item.save(update_fields=['state'])",
        "item.delete()",
    ],
)
def test_a_write_is_recognised(source):
    assert writes_in(source)


@pytest.mark.parametrize(
    "source", ["book.save(target)", "names.update(more)", "Item.objects.filter(tag='B1').first()"]
)
def test_what_is_no_write_to_the_register_passes(source):
    assert not writes_in(source)
