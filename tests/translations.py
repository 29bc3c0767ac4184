"""The German catalogue made anew: `python -m tests.translations`, or with a JSON file of {msgid: text or [one, many]}.

The texts of the code are gathered with gettext's own tools (xgettext must be installed), what a JSON file brings is put
in, and the .mo is written in Python, so that a machine without gettext shows German.
"""

import inspect
import json
import os
import sys
from pathlib import Path

import django
import polib
from django.core.management import call_command
from django.db.models import Choices

from kit.settings import BASE_DIR

PO = BASE_DIR / "kit" / "locale" / "de" / "LC_MESSAGES" / "django.po"
MO = PO.with_suffix(".mo")


def gather() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    django.setup()
    ignored = ["tests/*", "demo_fixtures/*"]
    call_command(
        "makemessages", locale=["de"], no_wrap=True, no_location=True, ignore_patterns=ignored, verbosity=0
    )


def labels_of_choices() -> set[str]:
    """Labels of the models' choices: pages translate them where they show them, which gettext's tools do not see."""
    from inspections import models as of_inspections
    from kit import models as of_kit

    classes = [one for package in (of_kit, of_inspections) for one in vars(package).values()]
    choices = [one for one in classes if inspect.isclass(one) and issubclass(one, Choices)]
    return {str(label) for one in choices for label in one.labels if label}


def merge(texts: dict[str, str | list[str]]) -> int:
    """How many texts were put in. One that no msgid has any more is left out; a fuzzy guess is emptied."""
    catalogue = polib.pofile(str(PO), wrapwidth=0)
    catalogue.header = ""
    catalogue.metadata = {
        "MIME-Version": "1.0",
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
        "Language": "de",
        "Plural-Forms": "nplurals=2; plural=(n != 1);",
    }
    merged = 0
    of_choices = labels_of_choices()
    for label in of_choices - {entry.msgid for entry in catalogue}:
        catalogue.append(polib.POEntry(msgid=label, msgstr=""))
    for entry in [*catalogue]:
        if entry.obsolete and entry.msgid in of_choices:
            entry.obsolete = False
        if entry.obsolete:
            catalogue.remove(entry)
            continue
        if entry.fuzzy:
            entry.flags.remove("fuzzy")
            entry.previous_msgid = entry.previous_msgid_plural = None
            entry.msgstr = ""
            entry.msgstr_plural = {0: "", 1: ""} if entry.msgid_plural else {}
        key = f"{entry.msgctxt}\x04{entry.msgid}" if entry.msgctxt else entry.msgid
        text = texts.get(key)
        if text is None:
            continue
        if entry.msgid_plural:
            one, many = text if isinstance(text, list) else (text, text)
            entry.msgstr_plural = {0: one, 1: many}
        else:
            entry.msgstr = str(text)
        merged += 1
    catalogue.sort(key=lambda entry: (entry.msgid, entry.msgctxt or ""))
    catalogue.save(str(PO))
    MO.write_bytes(catalogue.to_binary())
    return merged


if __name__ == "__main__":
    gather()
    texts: dict[str, str | list[str]] = {}
    for name in sys.argv[1:]:
        texts.update(json.loads(Path(name).read_text(encoding="utf-8")))
    merged = merge(texts)
    left = len(polib.pofile(str(PO)).untranslated_entries())
    print(f"{merged} texts put in, {left} without German", file=sys.stderr)
