"""What every test shares: the engine, how hard property tests look, and a database put back after use.

DATABASE_URL chooses the engine, as for the program: postgresql://postgres@127.0.0.1:5432/fettlebook_tests
runs them on PostgreSQL. The database named is never touched: a test database is made beside it.
"""

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection, connections
from django.test import TransactionTestCase
from django.utils import translation
from hypothesis import HealthCheck, settings

from tests import databases
from tests.counts import cases

HERE = Path(__file__).resolve().parent
# Papers are laid out, and pure code reckons, alike whatever engine the register came from.
MARKED_BY_FOLDER = {
    "browser": [HERE / "browser"],
    "bench": [HERE / "bench"],
    "once": [HERE / "published", HERE / "kit/planning", HERE / "inspections/judging", HERE / "kit/papers"],
}

settings.register_profile(
    "fettlebook",
    max_examples=cases(),
    # No time limit an example: the cores are shared by all workers.
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
# On CI the same examples every time: what fails there was changed there.
settings.register_profile("fettlebook-ci", settings.get_profile("fettlebook"), derandomize=True)
settings.load_profile("fettlebook-ci" if os.environ.get("CI") else "fettlebook")


def pytest_sessionstart() -> None:
    """Look for rings of garbage less often: a worker holds all models and tests, and each few hundred rows read had the
    collector go through them.
    """
    gc.set_threshold(100_000, 50, 100)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        for mark, folders in MARKED_BY_FOLDER.items():
            if any(item.path.is_relative_to(folder) for folder in folders):
                item.add_marker(mark)
    _start_long_ones_first(items)


def _start_long_ones_first(items: list[pytest.Item]) -> None:
    """Two workers take the list from its start and from its middle: what lasts longest stands there, else one of them
    would be alone with it at the end.
    """
    long = [item for item in items if item.get_closest_marker("long")]
    others = [item for item in items if not item.get_closest_marker("long")]
    half = len(items) // 2
    first = long[0::2]
    cut = max(half - len(first), 0)
    items[:] = [*first, *others[:cut], *long[1::2], *others[cut:]]


@pytest.fixture(autouse=True)
def _no_language_stays_behind() -> Iterator[None]:
    """A page asked for in German leaves its language in the thread: the next test begins with that of the settings."""
    translation.deactivate()
    yield
    translation.deactivate()


@pytest.fixture(scope="session")
def engine() -> str:
    """The engine under test, "sqlite" or "postgresql"."""
    return connection.vendor


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Name the test database so that neither two workers nor two runs at once share one.

    On SQLite it is a file, as in use: in memory all threads of a live server would share one connection, and
    with it each other's transactions.
    """
    if request.config.getoption("reuse_db"):
        return
    entry = connections.settings["default"]
    name = databases.unused_name("test_fettlebook")
    if connection.vendor == "sqlite":
        name = str(tmp_path_factory.mktemp("database") / f"{name}.sqlite3")
    entry["TEST"]["NAME"] = name


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker) -> Iterator[None]:
    """As usual, and keep a copy of the database as migrated, to put back after tests that really commit."""
    with django_db_blocker.unblock():
        live = databases.url_of(connection.settings_dict)
        kept = f"{live}_kept"
        connections.close_all()
        databases.copy(live, kept)

    def put_back(_: TransactionTestCase) -> None:
        connections.close_all()
        databases.copy(kept, live)

    with pytest.MonkeyPatch.context() as patched:
        # Django would flush every table. The ledger refuses that, and what migrations ship would be gone.
        patched.setattr(TransactionTestCase, "_fixture_teardown", put_back)
        yield
    databases.drop(kept)


@pytest.fixture(scope="session")
def _kept_demo() -> Iterator[list[str]]:
    """The address of the demo's database, once a test has set it up."""
    kept: list[str] = []
    yield kept
    for url in kept:
        databases.drop(url)


@pytest.fixture
def demo(transactional_db: None, _kept_demo: list[str]) -> None:
    """The demo of today as any test finds it: set up once by each worker, and put back for each that asks."""
    from tests.demo_runs import run_demo

    live = databases.url_of(connection.settings_dict)
    if _kept_demo:
        connections.close_all()
        databases.copy(_kept_demo[0], live)
        return
    run_demo()
    connections.close_all()
    databases.copy(live, f"{live}_demo")
    _kept_demo.append(f"{live}_demo")


@pytest.fixture
def ledger_holds(db: None) -> Iterator[None]:
    """After the test the ledger replays to the state, and every date to what the records give."""
    yield
    from kit.stores import differences, prove_ledger

    assert prove_ledger().fault is None
    assert differences() == []
