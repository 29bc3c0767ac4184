"""The race harness itself: what each process met comes back, and a race that cannot be run says why."""

from pathlib import Path

import pytest

from tests.races import RaceFault, fresh_database, run_together

PROBE = """
import time
from django.db import connection

def set_up(round_number):
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE IF NOT EXISTS probe (round integer UNIQUE)")
    return round_number

def act(process, given):
    started = time.monotonic()
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO probe VALUES (%s)", [given])
    return started

def look(given):
    with connection.cursor() as cursor:
        cursor.execute("SELECT COUNT(*) FROM probe WHERE round = %s", [given])
        return cursor.fetchone()[0]
"""


@pytest.fixture
def script(tmp_path: Path):
    def written(text: str) -> Path:
        path = tmp_path / "script.py"
        path.write_text(text, encoding="utf-8")
        return path

    return written


@pytest.mark.race
def test_exactly_one_of_two_processes_writes_a_unique_row(engine, script):
    with fresh_database(engine) as url:
        done = run_together(script(PROBE), url, rounds=20)
    assert [round_.given for round_ in done] == list(range(20))
    for round_ in done:
        assert sorted(outcome.fault for outcome in round_.outcomes) == ["", "IntegrityError"]
        assert round_.afterwards == 1


@pytest.mark.race
def test_databases_of_two_races_do_not_meet(engine, script):
    for _ in range(2):
        with fresh_database(engine) as url:
            (done,) = run_together(script(PROBE), url, processes=1)
        assert done.outcomes[0].fault == ""


@pytest.mark.race
def test_processes_act_at_the_same_instant(engine, script):
    acting = script("import time\ndef act(process, given):\n    return time.monotonic()\n")
    with fresh_database(engine) as url:
        done = run_together(acting, url, rounds=10)
    apart_ms = sorted(1000 * abs(a.answer - b.answer) for a, b in (round_.outcomes for round_ in done))
    # The middle one of ten: a busy machine may hold one process back now and then.
    assert apart_ms[5] < 5


@pytest.mark.race
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("def set_up(round_number):\n    raise ValueError('no such kind')", "ValueError: no such kind"),
        ("import nothing_of_that_name", "ended without an answer"),
        ("import time\ndef act(process, given):\n    time.sleep(60)", "no answer within 2 s"),
    ],
)
def test_a_race_that_cannot_be_run_says_why(engine, script, text, said):
    with fresh_database(engine) as url, pytest.raises(RaceFault, match=said):
        run_together(script(text), url, timeout_seconds=2)
