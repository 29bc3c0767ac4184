"""What is committed: only the design's names at the top, nothing of any one machine, the two commands."""

import re
import subprocess
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

TOP = Path(__file__).resolve().parent.parent
AT_THE_TOP = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "kit",
    "inspections",
    "templates",
    "tests",
    "demo_fixtures",
}
# In pieces, so that this file does not hold what it looks for.
REGISTRY_HOSTS = [
    "pypi" + r"\.org",
    "pythonhosted" + r"\.",
    "registry" + r"\.(npmjs|yarnpkg)",
    "deb" + r"\.debian",
]
INDEX_OPTIONS = [r"--(extra-)?" + "index-url", "--find" + "-links", "--trusted" + "-host"]
MACHINE_PATHS = [
    rf"(?<![\w./-])/{folder}/" for folder in ("home", "root", "Users", "work", "opt", "mnt", "srv")
]
NEVER_SAID = [r"\b(is|are) (now )?safe\b", r"\bsafe to use\b"]
INSTALL = (
    "python3 -m venv .venv && .venv/bin/pip install -q -c .ci/constraints.txt -e {} && .venv/bin/python {}"
)


def tracked() -> list[str]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=TOP, capture_output=True, text=True, check=True)
    return [name for name in listed.stdout.split("\0") if name and (TOP / name).is_file()]


def texts(*folders: str) -> dict[str, str]:
    """Every tracked text file by name, under these folders if any is given. What is not UTF-8 is no text."""
    found = {}
    for name in tracked():
        if folders and not name.startswith(folders):
            continue
        try:
            found[name] = (TOP / name).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
    return found


def lines_with(patterns: list[str], files: dict[str, str]) -> list[str]:
    wanted = re.compile("|".join(patterns), re.IGNORECASE)
    return [
        f"{name}:{number}: {line.strip()[:160]}"
        for name, text in files.items()
        for number, line in enumerate(text.splitlines(), 1)
        if wanted.search(line)
    ]


@pytest.fixture(scope="module", autouse=True)
def _in_a_git_checkout():
    if not (TOP / ".git").exists():
        pytest.skip("not a git checkout: what is committed cannot be asked")


def test_the_top_level_holds_only_what_the_design_lists():
    names = {name.partition("/")[0] for name in tracked()}
    assert {name for name in names if not name.startswith(".")} <= AT_THE_TOP


@pytest.mark.parametrize(
    "patterns", [REGISTRY_HOSTS, INDEX_OPTIONS, MACHINE_PATHS], ids=["host", "index", "path"]
)
def test_no_file_points_at_one_machine_or_one_registry(patterns):
    assert not lines_with(patterns, texts())


def test_the_search_finds_what_it_looks_for():
    """Else an empty answer would mean nothing."""
    sample = {
        "a": "https://" + "pypi" + ".org/x",
        "b": "cd /" + "home/jo/x",
        "c": "pip --" + "index-url x",
    }
    assert len(lines_with(REGISTRY_HOSTS + MACHINE_PATHS + INDEX_OPTIONS, sample)) == 3
    assert not lines_with(MACHINE_PATHS, {"a": "templates/home/x, https://example.org/home/x, ./work/x"})


def test_no_screen_or_paper_calls_kit_safe():
    """The tool says that kit meets its recorded requirements on a day; who decides is somebody else."""
    assert not lines_with(NEVER_SAID, texts("kit/", "inspections/", "templates/", "demo_fixtures/"))


@pytest.mark.parametrize(
    ("heading", "command"),
    [
        ("Run it", INSTALL.format('".[demo]"', "manage.py demo")),
        ("Test it", INSTALL.format('".[test]"', "-m tests")),
    ],
)
def test_the_first_block_under_the_heading_is_the_one_command(heading, command):
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    section = re.search(rf"^## {heading}$(.*?)(?=^## |\Z)", readme, re.MULTILINE | re.DOTALL)
    assert section, f"README.md has no section '## {heading}'"
    block = re.search(r"^```\w*\n(.*?)^```$", section[1], re.MULTILINE | re.DOTALL)
    assert block, f"README.md has no fenced block under '## {heading}'"
    assert block[1].splitlines() == [command]


def test_versions_are_pinned_without_addresses():
    lines = (TOP / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = [line for line in lines if line and not line.startswith("#")]
    assert len(pins) > 40
    assert [pin for pin in pins if not re.fullmatch(r"[\w.-]+==[\w.]+", pin)] == []
