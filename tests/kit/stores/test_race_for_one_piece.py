"""Two people at once, as two processes on one real database: nobody gets what another has, and the ledger proves.

How often each is tried: FETTLEBOOK_RACES. Each prints who came first how often, to be read with -s.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.counts import races
from tests.races import TOP, Round, fresh_database, run_together

pytestmark = pytest.mark.race

HERE = Path(__file__).resolve().parent
Raced = Callable[..., list[Round]]


@pytest.fixture
def raced(engine: str) -> Raced:
    """Runs the script's rounds; fails if any process met another error than a refusal, or the ledger is broken."""

    def run(script: str, tries: int | None = None, processes: int = 2) -> list[Round]:
        with fresh_database(engine) as url:
            rounds = run_together(HERE / script, url, rounds=tries or races(), processes=processes)
            faults = [o for round_ in rounds for o in round_.outcomes if o.fault]
            assert faults == []
            for command in ("prove_ledger", "rederive"):
                done = subprocess.run(
                    [sys.executable, "manage.py", command],
                    cwd=TOP,
                    env={**os.environ, "DATABASE_URL": url},
                    capture_output=True,
                    text=True,
                    check=False,
                )
                assert done.returncode == 0, done.stdout + done.stderr
        return rounds

    return run


def tell(engine: str, what: str, counted: Counter[str]) -> None:
    print(f"\n{engine}, {sum(counted.values())} x {what}: {dict(sorted(counted.items()))}")


def test_the_last_piece_is_promised_to_exactly_one_of_two(raced: Raced, engine: str) -> None:
    first: Counter[str] = Counter()
    for round_ in raced("race_to_reserve.py"):
        answers = [outcome.answer for outcome in round_.outcomes]
        winners = [process for process, answer in enumerate(answers) if answer.get("tags")]
        assert len(winners) == 1, answers
        [winner] = winners
        loser = answers[1 - winner]
        assert answers[winner] == {"tags": [round_.given["tag"]], "short": 0}
        assert loser.get("short") == 1 or "cannot be reserved" in loser.get("refused", ""), loser
        held = round_.afterwards["reservations"]
        assert [entry[:2] for entry in held] == [[round_.given["jobs"][winner], "promised"]]
        first[f"process {winner} first"] += 1
    tell(engine, "two reserving the last piece", first)


def test_two_jobs_never_hold_more_of_a_lot_than_there_is(raced: Raced, engine: str) -> None:
    first: Counter[str] = Counter()
    for round_ in raced("race_to_reserve_a_lot.py"):
        answers = [outcome.answer for outcome in round_.outcomes]
        assert sorted(answer["short"] for answer in answers) == [0, 2], answers
        assert sum(entry[2] for entry in round_.afterwards["reservations"]) == 10
        first[f"process {0 if answers[0]['short'] == 0 else 1} first"] += 1
    tell(engine, "two reserving six of a lot of ten", first)


def test_a_quarantined_piece_is_never_issued(raced: Raced, engine: str) -> None:
    first: Counter[str] = Counter()
    for round_ in raced("race_issue_and_quarantine.py"):
        issuer = round_.given["issuer"]
        issue, set_aside = round_.outcomes[issuer].answer, round_.outcomes[1 - issuer].answer
        after = round_.afterwards
        [[_, standing, _, why]] = after["reservations"]
        assert set_aside == {"did": "quarantined"}
        assert after["state"] == "quarantined"
        deeds = [deed for deed in after["deeds"] if deed in ("issued", "quarantined")]
        if issue == {"did": "issued"}:
            # It had left before it was set aside: it is out, and whoever asks is told.
            assert deeds == ["issued", "quarantined"]
            assert (after["custody"], standing) == ("on-site", "issued")
            first["issued first"] += 1
        else:
            assert "may not go out" in issue["refused"], issue
            assert deeds == ["quarantined"]
            assert (after["custody"], standing) == ("store", "broken")
            first["quarantined first, issue refused"] += 1
        assert "torn" in why
    tell(engine, "issue against quarantine", first)


def test_one_piece_is_issued_once(raced: Raced, engine: str) -> None:
    first: Counter[str] = Counter()
    for round_ in raced("race_to_issue.py"):
        answers = [outcome.answer for outcome in round_.outcomes]
        assert answers.count({"did": "issued"}) == 1, answers
        [refusal] = [answer["refused"] for answer in answers if "refused" in answer]
        assert "is issued to" in refusal or "is out on" in refusal, refusal
        after = round_.afterwards
        assert after["deeds"].count("issued") == 1
        assert [entry[1] for entry in after["reservations"]] == ["issued"]
        assert (after["custody"], after["state"]) == ("on-site", "available")
        first[f"process {answers.index({'did': 'issued'})} first"] += 1
    tell(engine, "two issuing one piece", first)


def test_the_database_alone_stands_in_between(engine: str) -> None:
    """In bare SQL, without the turn that actions take and without a word to the ledger."""
    seen: Counter[str] = Counter()
    with fresh_database(engine) as url:
        rounds = run_together(HERE / "race_in_bare_sql.py", url, rounds=races())
    for round_ in rounds:
        assert [o.fault for o in round_.outcomes] == ["", ""], round_.outcomes
        answers = [outcome.answer for outcome in round_.outcomes]
        after = round_.afterwards
        if round_.given["race"] == "issue":
            issuer = round_.given["issuer"]
            assert answers[1 - issuer] == {"did": "it"}
            went_out = answers[issuer] == {"did": "it"}
            if not went_out:
                assert "not available" in answers[issuer]["refused"]
            assert [entry[1] for entry in after["reservations"]] == ["issued" if went_out else "promised"]
            seen[f"issue: {'issued first' if went_out else 'refused'}"] += 1
            continue
        assert answers.count({"did": "it"}) == 1, answers
        assert len(after["reservations"]) == 1
        seen[f"{round_.given['race']}: one of two refused"] += 1
    tell(engine, "bare SQL", seen)


def test_an_issue_is_undone_once_and_a_piece_counted_once(raced: Raced, engine: str) -> None:
    first: Counter[str] = Counter()
    for round_ in raced("race_to_undo.py", races(20)):
        did = [outcome.answer.get("did") for outcome in round_.outcomes]
        if "take" in round_.given:
            assert sorted(did) == ["seen already", "seen first"]
            assert round_.afterwards == {"lines": 1}
        else:
            assert did.count("undone") == 1, did
            assert round_.afterwards == {"undone": 1, "custody": "store"}
        first[next(f"person {n}" for n, one in enumerate(did) if one in ("undone", "seen first"))] += 1
    tell(engine, "undoing one issue, counting one piece", first)


def test_an_entry_of_a_phone_is_taken_in_once_however_many_send_it(raced: Raced, engine: str) -> None:
    """Under the number that the phone gave it; whoever comes later is answered as the first was."""
    seen: Counter[str] = Counter()
    for round_ in raced("race_to_take_in.py", processes=6):
        entry, of_nobody = round_.given["entries"]
        answers = [outcome.answer for outcome in round_.outcomes]
        assert all(answer == answers[0] for answer in answers), answers
        assert answers[0][entry["uid"]]["taken"] == "done"
        assert answers[0][of_nobody["uid"]]["taken"] == "open"
        after = round_.afterwards
        assert after["rows"] == [1, 1]
        assert after["told"] == [1, 1]
        assert after["deeds"].count("quarantined") == (entry["what"] == "failed")
        seen[entry["what"]] += 1
    tell(engine, "six sending the same two entries", seen)
