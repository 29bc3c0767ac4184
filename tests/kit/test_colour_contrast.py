"""Colours of the pages, computed from tokens.css by the formula of WCAG 2.2.

Sources, both from memory of the published texts:
relative luminance and contrast ratio as WCAG 2.2 defines them, 4.5 for text (1.4.3), 3 for parts (1.4.11);
the eight colours of Okabe & Ito, "Color Universal Design".
"""

import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

TOKENS = Path(__file__).parents[2] / "kit" / "static" / "kit" / "css" / "tokens.css"

TEXT = 4.5
PARTS = 3.0

OKABE_ITO = {
    "oi-black": "#000000",
    "oi-orange": "#e69f00",
    "oi-sky": "#56b4e9",
    "oi-green": "#009e73",
    "oi-yellow": "#f0e442",
    "oi-blue": "#0072b2",
    "oi-vermilion": "#d55e00",
    "oi-purple": "#cc79a7",
}

GROUNDS = ("paper", "sheet", "sheet-alt")
NOTICE_GROUNDS = ("note-ground", "done-ground", "caution-ground", "refused-ground", "chosen-ground")

TEXT_PAIRS = [
    *((ink, ground) for ink in ("ink", "ink-soft", "link", "link-visited", "wrong") for ground in GROUNDS),
    *((ink, ground) for ink in ("ink", "link", "link-visited", "ink-soft") for ground in NOTICE_GROUNDS),
    ("cloth-ink", "cloth"),
    ("cloth-soft", "cloth"),
    ("primary-ink", "primary"),
    ("primary-ink", "primary-press"),
    ("danger-ink", "danger"),
    ("danger-ink", "danger-press"),
]

PART_PAIRS = [
    *((part, ground) for part in ("edge", "focus", "primary", "danger", "mark-line") for ground in GROUNDS),
    *((part, ground) for part in ("mark-line", "edge", "focus") for ground in NOTICE_GROUNDS),
    ("cloth-edge", "cloth"),
    ("focus-cloth", "cloth"),
    ("oi-orange", "cloth"),
    ("margin-line", "paper"),
    ("mark-line", "mark-blank"),
    *(("mark-sign", fill) for fill in OKABE_ITO if fill != "oi-black"),
]


def relative_luminance(colour: str) -> float:
    """Relative luminance, 0 to 1, of a colour written #rrggbb, as WCAG 2.2 defines it."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, 1 to 21, of two colours written #rrggbb, as WCAG 2.2 defines it."""
    low, high = sorted((relative_luminance(one), relative_luminance(other)))
    return (high + 0.05) / (low + 0.05)


def declared(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6});", block))


def themes() -> dict[str, dict[str, str]]:
    text = TOKENS.read_text(encoding="utf-8")
    light_text, rest = text.split("@media screen and (prefers-color-scheme: dark)", 1)
    dark_text = rest.split("@media (forced-colors: active)", 1)[0]
    light = declared(light_text)
    return {"light": light, "dark": light | declared(dark_text)}


def test_formula_gives_the_known_ratios() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#ffffff", "#ffffff") == pytest.approx(1.0)
    # The grey commonly quoted as just failing, and its neighbour that just passes, on white (from memory).
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def test_okabe_ito_colours_are_the_published_ones() -> None:
    light = themes()["light"]
    assert {name: light[name] for name in OKABE_ITO} == OKABE_ITO


def test_dark_theme_restates_every_ground_and_ink() -> None:
    text = TOKENS.read_text(encoding="utf-8")
    dark = declared(text.split("prefers-color-scheme: dark", 1)[1].split("@media (forced-colors", 1)[0])
    used = {name for pair in TEXT_PAIRS + PART_PAIRS for name in pair if not name.startswith("oi-")}
    assert used <= set(dark)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("ink", "ground"), TEXT_PAIRS)
def test_text_can_be_read(theme: str, ink: str, ground: str) -> None:
    colours = themes()[theme]
    assert contrast(colours[ink], colours[ground]) >= TEXT


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("part", "ground"), PART_PAIRS)
def test_parts_stand_out(theme: str, part: str, ground: str) -> None:
    colours = themes()[theme]
    assert contrast(colours[part], colours[ground]) >= PARTS
