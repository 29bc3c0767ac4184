"""Parts of a page that other packages fill (kit.ports)."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from kit.ports import Panel

About = TypeVar("About")


def panels(
    request: HttpRequest, asked: Iterable[Callable[[HttpRequest, About], Panel | None]], about: About
) -> list[SafeString]:
    """Each part as it stands on the page; what has nothing to show leaves no trace."""
    given = (panel(request, about) for panel in asked)
    return [render_to_string(panel.template, panel.context, request) for panel in given if panel]
