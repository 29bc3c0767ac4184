"""The page of all components: each template of templates/components/ and each mark that CSS knows stands on it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.urls import reverse

from kit.views.components import colours
from tests.kit.views.holm import Yard

TOP = Path(__file__).parents[3]
# Shown by every page as its frame, or a piece of another component.
FRAME = {"cover", "confirm", "language", "message", "specimen", "field_notes", "form_errors"}


@pytest.mark.django_db
def test_every_component_stands_on_the_page(yard: Yard) -> None:
    shown: set[str] = set()
    answer = yard.client("sal").get(reverse("components"))
    assert answer.status_code == 200
    for template in answer.templates:
        if template.name and template.name.startswith("components/"):
            shown.add(Path(template.name).stem)
    wanted = {path.stem for path in (TOP / "templates" / "components").glob("*.html")} - FRAME
    assert wanted <= shown


@pytest.mark.django_db
def test_every_state_mark_and_colour_stands_on_the_page(yard: Yard) -> None:
    page = yard.client("sal").get(reverse("components")).content.decode()
    css = (TOP / "kit" / "static" / "kit" / "css" / "components.css").read_text(encoding="utf-8")
    marks = set(re.findall(r"\.mark--([a-z-]+)", css))
    assert len(marks) > 10
    assert {mark for mark in marks if f"mark--{mark}" not in page} == set()
    assert len(colours()) > 30
    assert all(f'fill="var(--{name})"' in page for name in colours())
