"""What the program imports is what `pip install -e .` brings: nothing by luck, or with the tests only."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

TOP = Path(__file__).resolve().parent.parent
OUR_OWN = {"kit", "inspections", "tests", "demo_fixtures"}


def plain(requirement: str) -> str:
    """The bare name of a requirement or a distribution, as names are compared."""
    name = re.match(r"[\w.-]+", requirement)
    assert name
    return re.sub(r"[-_.]+", "-", name[0]).lower()


def imported(folder: Path) -> dict[str, str]:
    """Top-level names that the modules of a folder import, each with one place where."""
    found = {}
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module]
            for name in names:
                found[name.partition(".")[0]] = f"{path.relative_to(TOP)}:{node.lineno}"
    return found


@pytest.mark.parametrize(
    ("folders", "extras"),
    [(("kit", "inspections"), ()), (("demo_fixtures",), ("demo",)), (("tests",), ("test",))],
    ids=["program", "demo", "tests"],
)
def test_every_import_is_of_a_declared_dependency(folders, extras):
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    requirements = [*project["dependencies"]]
    for extra in extras:
        requirements += project["optional-dependencies"][extra]
    declared = {plain(requirement) for requirement in requirements}
    brought_by = packages_distributions()
    missing = {
        name: place
        for folder in folders
        for name, place in imported(TOP / folder).items()
        if name not in sys.stdlib_module_names | OUR_OWN
        and not declared & {plain(distribution) for distribution in brought_by.get(name, [])}
    }
    assert not missing


def test_every_declared_dependency_is_pinned():
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    groups = [project["dependencies"], *project["optional-dependencies"].values()]
    wanted = {plain(requirement) for group in groups for requirement in group}
    constraints = (TOP / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    pinned = {plain(line) for line in constraints.splitlines() if line and not line.startswith("#")}
    assert wanted <= pinned
