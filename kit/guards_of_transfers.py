"""What the database itself refuses of consignments: one person at both ends, and an arrival that is unsaid.

Beside kit/guards.py, whose names and helpers it uses; installed by migration 0007.
"""

from kit.guards import GUARD, Execute, keep, unprotect

KEPT = ("kit_transfer", "kit_transferline")
_SIGNED = "'arrived', 'back'"
_RULES = (
    (
        "whoever sent a consignment does not sign for its arrival",
        "NEW.outcome <> '' AND EXISTS "
        "(SELECT 1 FROM kit_transfer t WHERE t.id = NEW.transfer_id AND t.sent_by = NEW.arrived_by)",
        True,
    ),
    (
        "what is signed for as arrived stays so",
        f"OLD.outcome IN ({_SIGNED}) AND (NEW.outcome <> OLD.outcome OR NEW.arrived_by <> OLD.arrived_by "
        "OR NEW.arrived_on <> OLD.arrived_on)",
        False,
    ),
)
"""(why, SQL condition that must not hold, whether it is judged of new rows as well)."""
_SENDER = ("whoever signed for sending stays named", "NEW.sent_by <> OLD.sent_by")


def put_on(execute: Execute, vendor: str) -> None:
    """Install the guards on a database of `vendor` ('sqlite' or 'postgresql')."""
    for table in KEPT:
        keep(execute, vendor, table)
    for statement in _sqlite() if vendor == "sqlite" else _postgres():
        execute(statement)


def take_off(execute: Execute, vendor: str) -> None:
    """Take them away again: a reverse migration, or one that remakes these tables on SQLite."""
    for table in KEPT:
        unprotect(execute, vendor, table)
    for name, table in (
        ("kit_transferline_guard_insert", "kit_transferline"),
        ("kit_transferline_guard_update", "kit_transferline"),
        ("kit_transfer_sender_stays", "kit_transfer"),
    ):
        execute(f"DROP TRIGGER IF EXISTS {name}" + ("" if vendor == "sqlite" else f" ON {table}"))
    if vendor == "postgresql":
        execute("DROP FUNCTION IF EXISTS kit_transferline_guard_insert()")
        execute("DROP FUNCTION IF EXISTS kit_transferline_guard_update()")


def _sqlite() -> list[str]:
    def body(event: str) -> str:
        return "".join(
            f"SELECT RAISE(ABORT, '{GUARD}{why}') WHERE {condition}; "
            for why, condition, of_new in _RULES
            if of_new or event == "update"
        )

    return [
        *(
            f"CREATE TRIGGER kit_transferline_guard_{event} BEFORE {event.upper()} ON kit_transferline "
            f"BEGIN {body(event)} END"
            for event in ("insert", "update")
        ),
        f"CREATE TRIGGER kit_transfer_sender_stays BEFORE UPDATE ON kit_transfer WHEN {_SENDER[1]} BEGIN "
        f"SELECT RAISE(ABORT, '{GUARD}{_SENDER[0]}'); END",
    ]


def _postgres() -> list[str]:
    def function(event: str) -> str:
        rules = "".join(
            f"IF {condition} THEN RAISE EXCEPTION '{GUARD}{why}' USING ERRCODE = 'check_violation'; END IF; "
            for why, condition, of_new in _RULES
            if of_new or event == "update"
        )
        return (
            f"CREATE FUNCTION kit_transferline_guard_{event}() RETURNS trigger LANGUAGE plpgsql AS $guard$ "
            f"BEGIN {rules} RETURN NEW; END $guard$"
        )

    statements = []
    for event in ("insert", "update"):
        name = f"kit_transferline_guard_{event}"
        statements += [
            function(event),
            f"CREATE TRIGGER {name} BEFORE {event.upper()} ON kit_transferline "
            f"FOR EACH ROW EXECUTE FUNCTION {name}()",
        ]
    return [
        *statements,
        "CREATE TRIGGER kit_transfer_sender_stays BEFORE UPDATE ON kit_transfer FOR EACH ROW "
        f"WHEN ({_SENDER[1]}) EXECUTE FUNCTION fettlebook_refuse('{_SENDER[0]}')",
    ]
