"""What the database itself refuses, on both engines, whoever asks: the last line behind the code.

Installed by migrations. Each guard is SQL for one table; `install` and `remove` take a schema editor or a
connection's cursor-like `execute`. Messages begin with GUARD so that an action can tell them from other errors.
"""

from collections.abc import Callable

Execute = Callable[[str], object]

GUARD = "fettlebook refuses: "

LEDGER_TABLES = ("kit_ledgerentry", "kit_ledgermention")
# Rows that may change state but never go: a tag is unique for ever, a promise leaves a trace.
KEPT_TABLES = ("kit_item", "kit_reservation", "kit_job")

_HOLDING = "('promised', 'issued')"
_ENTERING_UPDATE = "NEW.standing = 'promised' OR OLD.standing <> 'issued'"


def append_only(table: str) -> tuple[str, str]:
    """Names used for the update and the delete guard of `table`."""
    return f"{table}_no_update", f"{table}_no_delete"


def _sqlite_append_only(table: str) -> list[str]:
    update, delete = append_only(table)
    return [
        f"CREATE TRIGGER {update} BEFORE UPDATE ON {table} BEGIN "
        f"SELECT RAISE(ABORT, '{GUARD}{table} is append-only, a correction is a new entry'); END",
        *_sqlite_no_delete(table, delete),
    ]


def _sqlite_no_delete(table: str, name: str) -> list[str]:
    return [
        f"CREATE TRIGGER {name} BEFORE DELETE ON {table} BEGIN "
        f"SELECT RAISE(ABORT, '{GUARD}rows of {table} are never deleted'); END"
    ]


def _postgres_append_only(table: str) -> list[str]:
    update, _ = append_only(table)
    return [
        f"CREATE TRIGGER {update} BEFORE UPDATE ON {table} FOR EACH ROW "
        f"EXECUTE FUNCTION fettlebook_refuse('{table} is append-only, a correction is a new entry')",
        *_postgres_no_delete(table),
    ]


def _postgres_no_delete(table: str) -> list[str]:
    _, delete = append_only(table)
    why = f"'rows of {table} are never deleted'"
    return [
        f"CREATE TRIGGER {delete} BEFORE DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION fettlebook_refuse({why})",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT "
        f"EXECUTE FUNCTION fettlebook_refuse({why})",
    ]


def _reservation_rules(
    entering: str, day_plus: Callable[[str, str], str], substitutes: bool
) -> list[tuple[str, str]]:
    """(why, SQL condition that must not hold) over NEW, job j, item i, kind k; one list serves both engines.

    `entering` is the SQL condition under which the item's state and dates are judged: an item that is already
    out stays out when its job is extended, however unfit it has become. `substitutes`: a line may name other kinds.
    """
    another_kind = "i.kind_id <> l.kind_id"
    if substitutes:
        another_kind += (
            " AND NOT EXISTS (SELECT 1 FROM kit_linesubstitute s "
            "WHERE s.line_id = l.id AND s.kind_id = i.kind_id)"
        )
    return [
        ("the reservation does not cover its job", "NEW.starts > j.load_on OR NEW.ends < j.return_on"),
        ("the item is not of the kind of the line", another_kind),
        ("counted must be as the item is", "NEW.counted <> i.counted"),
        ("the item is not available", f"({entering}) AND i.state <> 'available'"),
        (
            "the item is not fit until the return of the job",
            f"({entering}) AND (i.fit_until IS NULL OR i.fit_until < {day_plus('j.return_on', 'k.margin_days')})",
        ),
        (
            "the item is not at the depot of the job before loading",
            f"({entering}) AND NOT ((i.custody <> 'in-transit' AND i.depot_id = j.depot_id) OR "
            "(i.custody = 'in-transit' AND i.transit_to_id = j.depot_id AND i.arrives_on < j.load_on))",
        ),
        (
            "an item that is issued comes from the store",
            f"({entering}) AND NEW.standing = 'issued' AND i.custody <> 'store'",
        ),
    ]


_TABLES = (
    "kit_job j JOIN kit_item i ON i.id = NEW.item_id JOIN kit_kind k ON k.id = i.kind_id "
    "JOIN kit_arrangementline l ON l.id = NEW.line_id WHERE j.id = NEW.job_id"
)


def _sqlite_reservation(substitutes: bool) -> list[str]:
    def day_plus(day: str, days: str) -> str:
        return f"date({day}, '+' || {days} || ' days')"

    def body(entering: str) -> str:
        rules = "".join(
            f"SELECT RAISE(ABORT, '{GUARD}{why}') FROM {_TABLES} AND ({condition}); "
            for why, condition in _reservation_rules(entering, day_plus, substitutes)
        )
        overlap = (
            f"SELECT RAISE(ABORT, '{GUARD}the item is promised to another job in that window') "
            "FROM kit_reservation r WHERE NEW.counted = 0 AND r.item_id = NEW.item_id AND r.id IS NOT NEW.id "
            f"AND r.counted = 0 AND r.standing IN {_HOLDING} "
            "AND r.starts <= NEW.ends AND NEW.starts <= r.ends; "
        )
        lots = (
            f"SELECT RAISE(ABORT, '{GUARD}more of the lot is promised than there is') FROM kit_item i "
            "WHERE i.id = NEW.item_id AND NEW.counted = 1 AND NEW.standing = 'promised' "
            "AND i.quantity < NEW.quantity + "
            "(SELECT COALESCE(SUM(r.quantity), 0) FROM kit_reservation r WHERE r.item_id = NEW.item_id "
            "AND r.standing = 'promised' AND r.id IS NOT NEW.id); "
        )
        return rules + overlap + lots

    return [
        "CREATE TRIGGER kit_reservation_guard_insert BEFORE INSERT ON kit_reservation "
        f"WHEN NEW.standing IN {_HOLDING} BEGIN {body('1')} END",
        "CREATE TRIGGER kit_reservation_guard_update BEFORE UPDATE ON kit_reservation "
        f"WHEN NEW.standing IN {_HOLDING} BEGIN "
        f"{body(_ENTERING_UPDATE)} END",
    ]


def _postgres_reservation(substitutes: bool) -> list[str]:
    return [
        "CREATE EXTENSION IF NOT EXISTS btree_gist",
        "ALTER TABLE kit_reservation ADD CONSTRAINT kit_reservation_no_overlap EXCLUDE USING gist "
        f"(item_id WITH =, daterange(starts, ends, '[]') WITH &&) WHERE (standing IN {_HOLDING} AND NOT counted)",
        *_postgres_reservation_trigger(substitutes),
    ]


def _postgres_reservation_trigger(substitutes: bool) -> list[str]:
    def day_plus(day: str, days: str) -> str:
        return f"{day} + {days}"

    rules = "".join(
        f"PERFORM 1 FROM {_TABLES} AND ({condition}); IF FOUND THEN "
        f"RAISE EXCEPTION '{GUARD}{why}' USING ERRCODE = 'check_violation'; END IF; "
        for why, condition in _reservation_rules("entering", day_plus, substitutes)
    )
    return [
        "CREATE FUNCTION kit_reservation_guard() RETURNS trigger LANGUAGE plpgsql AS $guard$ "
        "DECLARE entering boolean; held bigint; stock bigint; BEGIN "
        f"IF NEW.standing NOT IN {_HOLDING} THEN RETURN NEW; END IF; "
        # The row is locked so that a quarantine, or another promise of the lot, under way is waited for and not
        # read past. A share lock would do for the first alone: two promises of a lot would each miss the other.
        "SELECT quantity INTO stock FROM kit_item WHERE id = NEW.item_id FOR NO KEY UPDATE; "
        "entering := TG_OP = 'INSERT' OR NEW.standing = 'promised' OR OLD.standing <> 'issued'; "
        f"{rules}"
        "IF NEW.counted AND NEW.standing = 'promised' THEN "
        "SELECT COALESCE(SUM(quantity), 0) INTO held FROM kit_reservation "
        "WHERE item_id = NEW.item_id AND standing = 'promised' AND id <> NEW.id; "
        f"IF stock < held + NEW.quantity THEN RAISE EXCEPTION '{GUARD}more of the lot is promised than there is' "
        "USING ERRCODE = 'check_violation'; END IF; END IF; "
        "RETURN NEW; END $guard$",
        "CREATE TRIGGER kit_reservation_guard BEFORE INSERT OR UPDATE ON kit_reservation "
        "FOR EACH ROW EXECUTE FUNCTION kit_reservation_guard()",
    ]


def _tag_is_for_ever(vendor: str) -> list[str]:
    if vendor == "sqlite":
        return [
            "CREATE TRIGGER kit_item_tag_stays BEFORE UPDATE OF tag ON kit_item WHEN NEW.tag <> OLD.tag BEGIN "
            f"SELECT RAISE(ABORT, '{GUARD}a tag is never changed or used again'); END"
        ]
    return [
        "CREATE TRIGGER kit_item_tag_stays BEFORE UPDATE OF tag ON kit_item FOR EACH ROW "
        "WHEN (NEW.tag <> OLD.tag) EXECUTE FUNCTION fettlebook_refuse('a tag is never changed or used again')"
    ]


def install(execute: Execute, vendor: str, substitutes: bool = True) -> None:
    """Install the store's guards on a database of `vendor` ('sqlite' or 'postgresql').

    `substitutes` False: as they were before a line could name other kinds, for a database without that table.
    """
    if vendor == "postgresql":
        execute(
            "CREATE OR REPLACE FUNCTION fettlebook_refuse() RETURNS trigger LANGUAGE plpgsql AS $refuse$ BEGIN "
            f"RAISE EXCEPTION '{GUARD}%', TG_ARGV[0] USING ERRCODE = 'check_violation'; END $refuse$"
        )
    for table in LEDGER_TABLES:
        protect(execute, vendor, table)
    for table in KEPT_TABLES:
        keep(execute, vendor, table)
    for statement in _tag_is_for_ever(vendor):
        execute(statement)
    reservation = _sqlite_reservation if vendor == "sqlite" else _postgres_reservation
    for statement in reservation(substitutes):
        execute(statement)


def remove(execute: Execute, vendor: str) -> None:
    """Take the store's guards away again (reverse migration)."""
    for table in LEDGER_TABLES + KEPT_TABLES:
        unprotect(execute, vendor, table)
    _drop(execute, vendor, "kit_item_tag_stays", "kit_item")
    if vendor == "sqlite":
        _drop(execute, vendor, "kit_reservation_guard_insert", "kit_reservation")
        _drop(execute, vendor, "kit_reservation_guard_update", "kit_reservation")
    else:
        _drop(execute, vendor, "kit_reservation_guard", "kit_reservation")
        execute("DROP FUNCTION IF EXISTS kit_reservation_guard()")
        execute("ALTER TABLE kit_reservation DROP CONSTRAINT IF EXISTS kit_reservation_no_overlap")
        execute("DROP FUNCTION IF EXISTS fettlebook_refuse()")


def take_off(execute: Execute, vendor: str) -> None:
    """Take off what stands in the way of a migration that remakes the store's tables; `put_on` puts it back.

    SQLite loses triggers with a table that is remade, and will not rename a table that a trigger names. PostgreSQL
    alters tables in place: there only the rules for reservations go, because they are what may differ afterwards.
    """
    if vendor == "sqlite":
        remove(execute, vendor)
        return
    _drop(execute, vendor, "kit_reservation_guard", "kit_reservation")
    execute("DROP FUNCTION IF EXISTS kit_reservation_guard()")


def put_on(execute: Execute, vendor: str, substitutes: bool = True) -> None:
    """Put back what `take_off` took off, with the rules as they are from here on."""
    if vendor == "sqlite":
        install(execute, vendor, substitutes)
        return
    for statement in _postgres_reservation_trigger(substitutes):
        execute(statement)


def protect(execute: Execute, vendor: str, table: str) -> None:
    """Make `table` append-only."""
    for statement in _sqlite_append_only(table) if vendor == "sqlite" else _postgres_append_only(table):
        execute(statement)


def keep(execute: Execute, vendor: str, table: str) -> None:
    """Make the database refuse to delete rows of `table`."""
    name = append_only(table)[1]
    for statement in _sqlite_no_delete(table, name) if vendor == "sqlite" else _postgres_no_delete(table):
        execute(statement)


def unprotect(execute: Execute, vendor: str, table: str) -> None:
    for name in (*append_only(table), f"{table}_no_truncate"):
        _drop(execute, vendor, name, table)


def _drop(execute: Execute, vendor: str, trigger: str, table: str) -> None:
    execute(f"DROP TRIGGER IF EXISTS {trigger}" + ("" if vendor == "sqlite" else f" ON {table}"))
