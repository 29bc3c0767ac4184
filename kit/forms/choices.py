"""Choices of the models in the language of the page: the models keep their labels in English, as the ledger does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext_lazy


def said(choices: Iterable[tuple[Any, Any]]) -> list[tuple[Any, Any]]:
    """The same choices, each label translated where it is shown."""
    return [(value, gettext_lazy(str(label)) if label else label) for value, label in choices]
