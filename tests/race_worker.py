"""One process of a race; started by tests/races.py, which also says what a script holds."""

import importlib.util
import json
import sys
import time
from pathlib import Path
from types import ModuleType
from typing import Any

import django

SPIN_SECONDS = 0.003  # a sleeping process wakes up to a few ms late: the last stretch is waited out awake


def main(script: Path, number: int) -> None:
    # The answers have standard output to themselves: what a script prints is for the reader of the test.
    answers, sys.stdout = sys.stdout, sys.stderr

    def say(answer: Any, fault: str = "", text: str = "") -> None:
        answers.write(json.dumps({"answer": answer, "fault": fault, "text": text}, default=str) + "\n")
        answers.flush()

    django.setup()
    module = _load(script)
    say("ready")
    for line in sys.stdin:
        order = json.loads(line)
        try:
            say(_carry_out(module, number, order))
        except Exception as fault:
            say(None, type(fault).__name__, str(fault) or "(no text)")


def _load(script: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("race_script", script)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _carry_out(module: ModuleType, number: int, order: dict[str, Any]) -> Any:
    match order["do"]:
        case "set_up":
            return module.set_up(order["round"]) if hasattr(module, "set_up") else None
        case "look":
            return module.look(order["given"]) if hasattr(module, "look") else None
        case _:
            time.sleep(max(0.0, order["at"] - time.monotonic() - SPIN_SECONDS))
            while time.monotonic() < order["at"]:
                pass
            return module.act(number, order["given"])


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
