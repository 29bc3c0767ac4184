"""The design's worked example: what each kit list chooses and refuses, and what is overdue on 2026-11-02.

The answers in tests/examples/expected.json were worked out from the design page by other code.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

EXAMPLES = Path(__file__).resolve().parent / "examples"
EXPECTED = json.loads((EXAMPLES / "expected.json").read_text(encoding="utf-8"))
AS_OF = EXPECTED["as_of"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def loaded(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command on the loaded register and gives its JSON and exit code."""
    call_command("load_register", str(EXAMPLES / "register.xlsx"), format="json")
    assert json.loads(capsys.readouterr().out)["loaded"] is True

    def run(*command: str) -> tuple[Any, int]:
        code = 0
        try:
            call_command(*command, "--format", "json", "--as-of", AS_OF)
        except SystemExit as stop:
            code = int(stop.code or 0)
        return json.loads(capsys.readouterr().out), code

    return run


def test_each_kit_list_chooses_and_refuses_as_worked_out(loaded: Any) -> None:
    for reference, expected in EXPECTED["kit_list"].items():
        kit, code = loaded("kit_list", reference)
        assert {line["line"]: line["tags"] for line in kit["lines"]} == expected["lines"], reference
        refused = sorted(
            (r["tag"], r["line"], sorted({reason["code"] for reason in r["reasons"]})) for r in kit["refused"]
        )
        assert refused == sorted((r["tag"], r["line"], sorted(r["codes"])) for r in expected["refused"]), (
            reference
        )
        assert code == (0 if kit["complete"] else 1)


def test_the_due_list_is_as_worked_out_and_in_order(loaded: Any) -> None:
    due, code = loaded("inspections_due")
    assert code == 0
    assert [{k: e[k] for k in ("tag", "check", "due_on")} for e in due["due"]] == EXPECTED["inspections_due"]


def test_reserving_on_that_day_holds_what_was_chosen(loaded: Any) -> None:
    for reference, expected in EXPECTED["kit_list"].items():
        for _ in range(2):
            kit, _ = loaded("kit_list", reference, "--reserve")
            assert {line["line"]: line["tags"] for line in kit["lines"]} == expected["lines"], reference
    call_command("prove_ledger")
    call_command("rederive")
