"""The packages keep apart as the design says, and the contracts that say so would notice if they did not."""

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

TOP = Path(__file__).resolve().parent.parent
PURE = ("kit/planning", "inspections/judging")
CLOCKS = {"date.today", "datetime.now", "datetime.today", "datetime.utcnow", "timezone.now", "time.time"}


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]
    # Wide, so that the name of a contract stays on its line.
    wide = {**os.environ, "COLUMNS": "300"}
    return subprocess.run(command, cwd=folder, env=wide, capture_output=True, text=True, check=False)


def test_every_import_contract_is_kept():
    done = lint_imports(TOP)
    assert done.returncode == 0, done.stdout
    assert " 0 broken" in done.stdout


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("kit/database_url.py", "from inspections import models", "kit never imports inspections"),
        ("kit/planning/values.py", "from django.utils import timezone", "planning and judging are pure"),
        ("kit/planning/values.py", "from kit import models", "planning and judging are pure"),
        ("inspections/judging/due.py", "import pathlib", "planning and judging are pure"),
        ("kit/models/depot.py", "from kit.stores import act", "each layer calls only those below it"),
    ],
)
def test_an_import_against_the_design_is_noticed(tmp_path, module, line, contract):
    leave = shutil.ignore_patterns("static", "__pycache__")
    for package in ("kit", "inspections"):
        shutil.copytree(TOP / package, tmp_path / package, ignore=leave)
    shutil.copy(TOP / "pyproject.toml", tmp_path)
    with (tmp_path / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    done = lint_imports(tmp_path)
    assert done.returncode == 1
    broken = [text for text in done.stdout.splitlines() if text.endswith("BROKEN")]
    assert any(text.startswith(contract) for text in broken), done.stdout


@pytest.mark.parametrize("folder", PURE)
def test_no_pure_module_looks_at_a_clock(folder):
    """An import contract cannot see this: datetime is needed for its types."""
    looked = [
        f"{path.relative_to(TOP)}:{node.lineno}"
        for path in (TOP / folder).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and f"{node.value.id}.{node.attr}" in CLOCKS
    ]
    assert not looked, f"today is passed in, these ask for it: {looked}"
