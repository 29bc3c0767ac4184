"""The typefaces of the papers. None comes from the machine, so a paper looks the same wherever it is printed.

Atkinson Hyperlegible (SIL OFL 1.1, in the wheel fontpkg-atkinson-hyperlegible) was drawn to keep 0 from O and
1 from l and I; DejaVu Sans Mono for tags and others for rare letters are embedded in typst.
"""

from __future__ import annotations

from functools import cache

import fontpkg_atkinson_hyperlegible as atkinson  # type: ignore[import-untyped]
import typst

SANS = ["Atkinson Hyperlegible", "DejaVu Sans Mono"]
MONO = ["DejaVu Sans Mono"]


@cache
def fonts() -> typst.Fonts:
    """The faces that may be used: the dependency's and typst's own, read once a process."""
    return typst.Fonts(include_system_fonts=False, font_paths=[str(atkinson.ROOT / "files")])
