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
from collections.abc import Iterable, Iterator
from itertools import count
from pathlib import Path

import polib

from kit.settings import BASE_DIR

PO = BASE_DIR / "kit" / "locale" / "de" / "LC_MESSAGES" / "sentences.po"
FOLDERS = (
    "kit/planning",
    "kit/stores",
    "kit/workbooks",
    "inspections/judging",
    "inspections/actions",
    "inspections/workbooks",
)
ALSO = ("kit/papers/cautions.py", "kit/label_stock.py", "kit/guards.py", "kit/guards_of_transfers.py")
# What papers print is theirs to say; why one cannot be printed stands on a page, as a whole sentence.
PAPERS = "kit/papers"
# Sentences whose parts the code puts together: as they come out.
MADE_OF_PARTS = (
    "{1} (version {2})",
    "common practice, no source; the network operator's procedure decides",
    "have {1} released from quarantine by {2}, which is for another person than set it aside to decide",
    "bring {1} from {2} in time, leaving by {3} at the latest (no way from there is recorded: ask how long it takes)",
    "have {1}, on its way, here",
    "have {1}, on its way, here by {2}",
    "have {1}, on its way, expected on {2}, here",
    "have {1}, on its way, expected on {2}, here by {3}",
    "have {1}, on its way from {2}, here",
    "have {1}, on its way from {2}, here by {3}",
    "have {1}, on its way from {2}, expected on {3}, here",
    "have {1}, on its way from {2}, expected on {3}, here by {4}",
    "make {1} more changes",
    "make {1} more change",
    "{1} mm bore on the near side",
    "{1} mm bore on the far side",
    "{1} mm outside on the near side",
    "{1} mm outside on the far side",
    "{1} to {2} mm bore on the near side",
    "{1} to {2} mm bore on the far side",
    "{1} to {2} mm outside on the near side",
    "{1} to {2} mm outside on the far side",
    "{1} x {2}, fit through {3}",
    "{1} x {2} of the mark of its unit ({3}), fit through {4}",
    "{1} x {2} of mark {3}, fit through {4}",
    "{1} x {2} of mark {3} of the mark of its unit ({4}), fit through {5}",
    "{1} x {2} covering {3}, fit through {4}",
    "{1} x {2} covering {3} of the mark of its unit ({4}), fit through {5}",
    "{1} x {2} covering {3} of mark {4}, fit through {5}",
    "{1} x {2} covering {3} of mark {4} of the mark of its unit ({5}), fit through {6}",
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
    "So {1} is missing.",
    "So {1} are missing.",
    "Format the column as a date, or write it as {1}.",
    "reading {1}",
    "row {1}",
    "With the gauge's error taken off, {1} {2} at the start and {3} {4} at the end: {5}",
    "Row {1} gives {2} the check {3} already: keep one of the two.",
    "Row {1} gives {2} that it has none already: keep one of the two.",
    "Row {1} has this serial of {2} for a {3} already: a maker's serial belongs to one item of a kind.",
    "The {1}'s serial {2} of {3}",
    "{1} × {2}",
    "{1}; or {2}",
    "{1} mm bore",
    "{1} to {2} mm bore",
    "{1} mm bore on the {2} side",
    "{1} to {2} mm bore on the {3} side",
    "{1} mm outside",
    "{1} to {2} mm outside",
    "{1} mm outside on the {2} side",
    "{1} to {2} mm outside on the {3} side",
)
# Single words that the code puts into a sentence.
WORDS = {"case", "column", "corrected", "failed", "record", "row", "sent"}
# Patterns whose endings depend on what is put in: each way stands above.
_STAND_ABOVE = {
    "load {1} {2} day{3} {4}, on {5}{6}",
    "So {1} {2} missing.",
    "Row {1} gives {2} {3} already: keep one of the two.",
    "Format the column as a date, or write it as",
}
LEAST_WORDS = 2
# What is written for the database, for a program or for whoever reads the code.
_NOT_SAID = re.compile(
    r"%\(|SELECT |UPDATE |INSERT |^[a-z_]+\.[a-z_.]+$|__|^[a-z]+(-[a-z]+)+$"
    r"|^<|^-//|&P|^yyyy|^[A-Z]+( [A-Z]+)+(,|$)|\| None$|^Literal\[|^\{1\}-title"  # markup, formats, SQL, types
    r"|^[a-z_]+\*? [a-z_]+\*( |$)|^[a-z_]+\* [a-z_]+( |$)"  # the headings of a sheet
    r"|\b(NEW|OLD|[a-z])\.[a-z]+_?[a-z]*\b|\b(CREATE|DROP|ALTER|PERFORM|JOIN|RAISE)\b|^\(?'|^date\("  # guards
)


def patterns() -> set[str]:
    """Every sentence, or part of one, that the code puts together or states."""
    found: set[str] = set()
    for folder in FOLDERS:
        for path in sorted((BASE_DIR / folder).rglob("*.py")):
            found.update(_said_in(ast.parse(path.read_text(encoding="utf-8"))))
    for path in [*(BASE_DIR / name for name in ALSO), *sorted((BASE_DIR / "inspections").glob("*.py"))]:
        found.update(_said_in(ast.parse(path.read_text(encoding="utf-8"))))
    for path in sorted((BASE_DIR / PAPERS).glob("*.py")):
        whole = _said_in(ast.parse(path.read_text(encoding="utf-8")))
        found.update(one for one in whole if one.endswith(".") and one[:1] in "{ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    known = {entry.msgid for entry in polib.pofile(str(PO.with_name("django.po")))}
    said = {pattern for pattern in found - known - _STAND_ABOVE if _is_said(pattern)}
    single = (WORDS | labels_in_sentences() | asked_of_forms()) - known
    # A name stands alone in a table as well, where no text of the catalogue is looked for: some are both.
    return said | single | shipped_names() | {*MADE_OF_PARTS}


def labels_in_sentences() -> set[str]:
    """Labels of choices (states, deeds, roles) as they stand inside a sentence: small letters."""
    _set_up()
    from django.apps import apps

    models = [model for name in ("kit", "inspections") for model in apps.get_app_config(name).get_models()]
    choices = [
        field.choices
        for model in models
        for field in model._meta.get_fields()
        if getattr(field, "choices", None)
    ]
    return {str(label).lower() for of_field in choices for _, label in of_field if label}


def _set_up() -> None:
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    django.setup()


def shipped_names() -> set[str]:
    """Names of kinds, checks, arrangements and lines that come with the program: a depot may call its own otherwise."""
    _set_up()
    from inspections.actions.found import SHIPPED
    from kit.planning import SHIPPED_ARRANGEMENTS
    from kit.stores.found import SHIPPED_KINDS

    checks = {check.name for of_kind in SHIPPED.values() for check in of_kind}
    lines = {line.name for shipped in SHIPPED_ARRANGEMENTS for line in shipped.lines}
    return {*SHIPPED_KINDS, *checks, *lines, *(shipped.name for shipped in SHIPPED_ARRANGEMENTS), "use-by"}


def asked_of_forms() -> set[str]:
    """What the shipped forms of checks ask, and the answers that they offer."""
    from inspections.judging.shipped_forms import SHIPPED_FORMS

    return {
        text
        for shipped in SHIPPED_FORMS
        for field in shipped.form.fields
        for text in (field.label, field.help, *field.answers)
        if text
    }


def _said_in(tree: ast.Module) -> Iterator[str]:
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add) and id(node) not in inside:
            inside.update(id(part) for part in ast.walk(node) if isinstance(part, ast.BinOp))
            added = _added(node)
            # A bare sum of names is no text.
            if any(_is_text(part) for part in added):
                inside.update(map(id, added))
                yield _pattern(added)
    aside = docstrings | inside
    for node in ast.walk(tree):
        if isinstance(node, ast.expr) and _is_text(node) and id(node) not in aside:
            yield _pattern([node])


def _added(node: ast.expr) -> list[ast.expr]:
    """The parts of a sum, in their order."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return [*_added(node.left), *_added(node.right)]
    return [node]


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _pattern(parts: Iterable[ast.expr]) -> str:
    numbers = count(1)
    out: list[str] = []
    for part in parts:
        for one in part.values if isinstance(part, ast.JoinedStr) else [part]:
            if isinstance(one, ast.Constant) and isinstance(one.value, str):
                # What `format` fills in, as "inspect {pieces}".
                out.append(re.sub(r"\{[a-z_]*\}", lambda _: f"{{{next(numbers)}}}", one.value))
            else:
                out.append(f"{{{next(numbers)}}}")
    return "".join(out).strip()


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
