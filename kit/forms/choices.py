"""Choices of the models in the language of the page: the models keep their labels in English, as the ledger does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from kit.sentences import said as in_words


class NameField(forms.ModelChoiceField):
    """One kind, check or arrangement of several: shipped names are said in the language of the page, own ones stay.

    What the form sends is the name or the number as it is kept.
    """

    def label_from_instance(self, obj: Any) -> str:
        return str(in_words(getattr(obj, "name", str(obj))))


class VersionField(NameField):
    """An arrangement with its version."""

    def label_from_instance(self, obj: Any) -> str:
        return str(in_words(str(obj)))


def named(names: Iterable[str]) -> list[tuple[str, str]]:
    """Names as choices."""
    return [(name, str(in_words(name))) for name in names]


def said(choices: Iterable[tuple[Any, Any]]) -> list[tuple[Any, Any]]:
    """The same choices, each label translated where it is shown."""
    return [(value, gettext_lazy(str(label)) if label else label) for value, label in choices]
