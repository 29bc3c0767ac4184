"""Real databases for tests, made, copied and dropped by their DATABASE_URL.

A copy of the whole takes the place of emptying tables: the ledger refuses DELETE and TRUNCATE, and what
migrations ship would be gone.
"""

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote, urlsplit, urlunsplit

import psycopg
from psycopg import sql

# No such database need exist: test databases are made beside it, under names of their own.
USUAL_POSTGRESQL = "postgresql://postgres@127.0.0.1:5432/fettlebook_tests"


def postgresql_url() -> str:
    """The PostgreSQL server that tests use: FETTLEBOOK_TEST_POSTGRESQL, else the one on this machine."""
    return os.environ.get("FETTLEBOOK_TEST_POSTGRESQL") or USUAL_POSTGRESQL


def why_no_postgresql() -> str:
    """Empty if the server answers, else what it said, on one line."""
    try:
        with _server(postgresql_url()):
            return ""
    except psycopg.OperationalError as fault:
        return " ".join(str(fault).split())


def unused_name(stem: str) -> str:
    """A database name no other run uses, so that two runs on one machine do not meet."""
    return f"{stem}_{os.getpid()}_{secrets.token_hex(3)}"


def with_name(url: str, name: str) -> str:
    """The same server, another database."""
    return urlunsplit(urlsplit(url)._replace(path="/" + name))


def url_of(entry: dict[str, object]) -> str:
    """The DATABASE_URL of one entry of Django's DATABASES, as its connection holds it now."""
    if str(entry["ENGINE"]).endswith("sqlite3"):
        return "sqlite:///" + quote(str(entry["NAME"]))
    user, password = quote(str(entry["USER"]), safe=""), quote(str(entry["PASSWORD"]), safe="")
    login = f"{user}:{password}@" if password else f"{user}@" if user else ""
    port = f":{entry['PORT']}" if entry["PORT"] else ""
    return f"postgresql://{login}{entry['HOST']}{port}/{quote(str(entry['NAME']), safe='')}"


def copy(source: str, target: str) -> None:
    """Make `target` a copy of `source`, replacing what is there. Nobody may be using either meanwhile."""
    if source.startswith("sqlite:"):
        with (
            closing(sqlite3.connect(_file(source))) as original,
            closing(sqlite3.connect(_file(target))) as made,
        ):
            original.backup(made)
        return
    with _server(target) as server:
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(_name(target)))
        server.execute(sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(_name(target), _name(source)))


def create_empty(url: str) -> None:
    """Make the database; for SQLite the first connection makes the file."""
    if not url.startswith("sqlite:"):
        with _server(url) as server:
            server.execute(sql.SQL("CREATE DATABASE {}").format(_name(url)))


def drop(url: str) -> None:
    """Remove the database, whoever is still connected."""
    if url.startswith("sqlite:"):
        for ending in ("", "-wal", "-shm"):
            Path(f"{_file(url)}{ending}").unlink(missing_ok=True)
        return
    with _server(url) as server:
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(_name(url)))


@contextmanager
def _server(url: str) -> Iterator[psycopg.Connection]:
    """A connection to the maintenance database, since no database can be made or dropped from inside."""
    with closing(psycopg.connect(with_name(url, "postgres"), autocommit=True, connect_timeout=5)) as server:
        yield server


def _name(url: str) -> sql.Identifier:
    return sql.Identifier(urlsplit(url).path.lstrip("/"))


def _file(url: str) -> str:
    return url.removeprefix("sqlite:///")
