"""The German of what the program says without knowing a language: `python -m tests.sentences [FILE.json ...]`.

Planning, judging and the actions build their sentences in English, since the ledger, the commands and JSON keep them
so. A page says them in German by their patterns (`kit/sentences.py`). This gathers the patterns from the code, {1}, {2}
for what is put in, and brings in what a JSON file of {pattern: German} gives.
"""

from __future__ import annotations

import ast
import json
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import polib

from kit.settings import BASE_DIR

PO = BASE_DIR / "kit" / "locale" / "de" / "LC_MESSAGES" / "sentences.po"
FOLDERS = ("kit/planning", "kit/stores", "inspections/judging", "inspections/actions")
ALSO = ("kit/papers/cautions.py",)
# Sentences whose parts the code puts together: as they come out.
MADE_OF_PARTS = (
    "It suits {1} to {2} mm and the main's bore is {3} mm; {4}.",
    "It suits {1} to {2} mm and the main's bore {3} is {4} mm; {5}.",
    "It fits pipes of {1} to {2} mm and the main's outside diameter is {3} mm; {4}.",
    "Its last {1} on {2} was failed or left in doubt; only a later pass lets it go out.",
    "load {1} {2} day earlier, on {3}, which frees {4}",
    "load {1} {2} days earlier, on {3}, which frees {4}",
    "load {1} {2} day later, on {3}, which frees {4}",
    "load {1} {2} days later, on {3}, which frees {4}",
    "load {1} {2} day earlier, on {3}",
    "load {1} {2} days earlier, on {3}",
    "load {1} {2} day later, on {3}",
    "load {1} {2} days later, on {3}",
    "inspect {1} by {2}",
    "inspect {1} ({2}) by {3}",
    "inspect {1}",
    "inspect {1} ({2})",
    "bring {1} from {2}, leaving by {3}",
    "buy or borrow {1}",
    "buy or borrow the rest: {1}",
    "load {1} {2} day earlier, on {3}, which frees {4}; or load on {5} or later",
    "load {1} {2} days earlier, on {3}, which frees {4}; or load on {5} or later",
    "load {1} {2} day later, on {3}, which frees {4}; or load on {5} or later",
    "load {1} {2} days later, on {3}, which frees {4}; or load on {5} or later",
    "load {1} {2} day earlier, on {3}; or load on {4} or later",
    "load {1} {2} days earlier, on {3}; or load on {4} or later",
    "load {1} {2} day later, on {3}; or load on {4} or later",
    "load {1} {2} days later, on {3}; or load on {4} or later",
    "Dropped {1} in {2} minutes, against {3}: {4}.",
    "Greatest error as found {1}, against {2}: {3}.",
    "{1} as printed with a guard of {2}",
    "{1} with a guard of {2}",
    "{1} high at {2}",
    "{1} low at {2}",
    "{1} going up",
    "{1} going down",
    "fails",
    "passes",
)
LEAST_WORDS = 2
# What is written for the database, for a program or for whoever reads the code.
_NOT_SAID = re.compile(r"%\(|SELECT |UPDATE |INSERT |^[a-z_]+\.[a-z_.]+$|__|^[a-z]+(-[a-z]+)+$")


def patterns() -> set[str]:
    """Every sentence, or part of one, that the code puts together or states."""
    found: set[str] = set()
    for folder in FOLDERS:
        for path in sorted((BASE_DIR / folder).rglob("*.py")):
            found.update(_said_in(ast.parse(path.read_text(encoding="utf-8"))))
    for path in [*(BASE_DIR / name for name in ALSO), *sorted((BASE_DIR / "inspections").glob("*.py"))]:
        found.update(_said_in(ast.parse(path.read_text(encoding="utf-8"))))
    known = {entry.msgid for entry in polib.pofile(str(PO.with_name("django.po")))}
    return {pattern for pattern in found - known if _is_said(pattern)} | shipped_names() | {*MADE_OF_PARTS}


def shipped_names() -> set[str]:
    """Names of kinds, checks, arrangements and lines that come with the program: a depot may call its own otherwise."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    django.setup()
    from inspections.actions.found import SHIPPED
    from kit.planning import SHIPPED_ARRANGEMENTS
    from kit.stores.found import SHIPPED_KINDS

    checks = {check.name for of_kind in SHIPPED.values() for check in of_kind}
    lines = {line.name for shipped in SHIPPED_ARRANGEMENTS for line in shipped.lines}
    return {*SHIPPED_KINDS, *checks, *lines, *(shipped.name for shipped in SHIPPED_ARRANGEMENTS), "use-by"}


def _said_in(tree: ast.Module) -> Iterator[str]:
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    aside = docstrings | inside
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield _pattern(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in aside:
            yield node.value.strip()


def _pattern(joined: ast.JoinedStr) -> str:
    number = 0
    parts: list[str] = []
    for part in joined.values:
        if isinstance(part, ast.Constant):
            parts.append(str(part.value).replace("{", "").replace("}", ""))
        else:
            number += 1
            parts.append(f"{{{number}}}")
    return "".join(parts).strip()


def _is_said(pattern: str) -> bool:
    words = re.findall(r"[A-Za-z]{2,}", re.sub(r"\{\d+\}", " ", pattern))
    return len(words) >= LEAST_WORDS and " " in pattern and not _NOT_SAID.search(pattern)


def merge(texts: dict[str, str]) -> tuple[int, int]:
    """How many patterns there are, and how many of them have no German."""
    before = {entry.msgid: entry.msgstr for entry in polib.pofile(str(PO))} if PO.exists() else {}
    catalogue = polib.POFile(wrapwidth=0)
    catalogue.metadata = {"Content-Type": "text/plain; charset=UTF-8", "Language": "de"}
    for pattern in sorted(patterns()):
        german = texts.get(pattern) or before.get(pattern, "")
        catalogue.append(polib.POEntry(msgid=pattern, msgstr=german))
    catalogue.save(str(PO))
    PO.with_suffix(".mo").write_bytes(catalogue.to_binary())
    return len(catalogue), len(catalogue.untranslated_entries())


if __name__ == "__main__":
    brought: dict[str, str] = {}
    for name in sys.argv[1:]:
        brought.update(json.loads(Path(name).read_text(encoding="utf-8")))
    known, left = merge(brought)
    print(f"{known} patterns, {left} without German", file=sys.stderr)
