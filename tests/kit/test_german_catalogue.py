"""The German catalogue: what is in it can be shown, and the .mo that is kept is what the .po comes to."""

import re

import polib
import pytest

from tests.translations import MO, PO

# Python's own placeholders, and those in braces that scripts and str.format fill in.
_PLACEHOLDER = re.compile(r"%\(\w+\)[sd]|%[sd](?![a-zäöüß])|\{\w*\}")


@pytest.fixture(scope="module")
def catalogue() -> polib.POFile:
    return polib.pofile(str(PO))


def test_the_mo_is_what_the_po_compiles_to(catalogue):
    assert MO.read_bytes() == catalogue.to_binary()


def test_nothing_is_fuzzy_or_left_over(catalogue):
    assert [entry.msgid for entry in catalogue if entry.fuzzy or entry.obsolete] == []


def test_placeholders_are_the_same_in_german(catalogue):
    differ = []
    for entry in catalogue.translated_entries():
        # A singular may say "one" in place of the number, so the plural's placeholders bound it.
        wanted = set(_PLACEHOLDER.findall(entry.msgid))
        if not entry.msgid_plural:
            if set(_PLACEHOLDER.findall(entry.msgstr)) != wanted:
                differ.append(entry.msgid)
            continue
        many = set(_PLACEHOLDER.findall(entry.msgid_plural))
        one_de, many_de = (set(_PLACEHOLDER.findall(entry.msgstr_plural[form])) for form in (0, 1))
        if many_de != many or not one_de <= many:
            differ.append(entry.msgid)
    assert differ == []


def test_both_forms_of_a_plural_are_there(catalogue):
    assert catalogue.metadata["Plural-Forms"] == "nplurals=2; plural=(n != 1);"
    assert [
        e.msgid for e in catalogue if e.msgid_plural and len({bool(t) for t in e.msgstr_plural.values()}) > 1
    ] == []


def test_spaces_and_line_ends_at_the_edges_are_kept(catalogue):
    def edges(text: str) -> tuple[bool, bool]:
        return text[:1].isspace(), text[-1:].isspace()

    assert [
        e.msgid for e in catalogue.translated_entries() if e.msgstr and edges(e.msgid) != edges(e.msgstr)
    ] == []


def test_every_text_gathered_has_german(catalogue):
    assert [entry.msgid for entry in catalogue.untranslated_entries()] == []
