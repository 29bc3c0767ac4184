"""Bring fit_until up to date after anything that moves a date or a verdict, and re-judge what is promised."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import connection
from django.utils import timezone

from kit.models import Item, gate_to_json
from kit.planning import Gate, judge_fitness
from kit.ports import ports
from kit.stores.act import Act
from kit.stores.knowledge import chunked
from kit.stores.rejudge import rejudge

DERIVED = ["fit_until", "fit_reason", "gates_json"]


def derive(item: Item, gates: tuple[Gate, ...]) -> bool:
    """Set the derived columns on the object; True if any differs from before."""
    fitness = judge_fitness(item.use_by, gates)
    before = (item.fit_until, item.fit_reason, item.gates_json)
    item.fit_until, item.fit_reason = fitness.fit_until, fitness.reason[:300]
    item.gates_json = [gate_to_json(gate) for gate in gates]
    item.__dict__.pop("gates", None)
    return before != (item.fit_until, item.fit_reason, item.gates_json)


def refit(act: Act, items: Sequence[Item]) -> None:
    """Derive due dates and fit_until of these items anew, then re-judge every open reservation of them.

    Call it in the act that moved a date, a verdict or a state, after the entry that tells of it.
    """
    for some in chunked(items, 2000):
        gates = ports.judge.bring_up_to_date(some)
        moved = [item for item in some if derive(item, gates[item.pk])]
        _write_derived(moved)
    rejudge(act, [item.pk for item in items])


def _write_derived(items: Sequence[Item]) -> None:
    """Write the derived columns of these items: one statement, run for each.

    bulk_update would build a CASE over every item and column, which took a fifth of the time of loading a register.
    """
    fields = [field for field in Item._meta.concrete_fields if field.name in DERIVED]
    quoted = connection.ops.quote_name
    columns = ", ".join(f"{quoted(str(field.column))} = %s" for field in fields)
    statement = f"UPDATE {quoted(Item._meta.db_table)} SET {columns} WHERE {quoted('id')} = %s"
    with connection.cursor() as cursor:
        cursor.executemany(
            statement,
            [
                [
                    *(field.get_db_prep_save(getattr(item, field.attname), connection) for field in fields),
                    item.pk,
                ]
                for item in items
            ],
        )


def differences() -> list[str]:
    """Every stored fit_until, reason and due date that differs from what the records give: a sentence each."""
    found: list[str] = []
    ids = list(Item.objects.order_by("pk").values_list("pk", flat=True))
    for chunk in chunked(ids, 2000):
        items = list(Item.objects.filter(pk__in=chunk).select_related("kind"))
        found.extend(ports.judge.differences(items))
        gates = ports.judge.gates_at(items, timezone.localdate())
        for item in items:
            stored = (item.fit_until, item.fit_reason)
            if derive(item, gates[item.pk]):
                found.append(
                    f"{item.tag}: stored fit until {stored[0]} ({stored[1]}), "
                    f"derived anew {item.fit_until} ({item.fit_reason})"
                )
    return found
