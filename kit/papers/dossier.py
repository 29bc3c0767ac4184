"""A long paper of named parts: facts, lists and sentences one after another over as many pages as they need.

The passport of an item, the evidence sheet of a job and the result of a stock-take are such papers. Its words come
in the language in which it is asked for; the sheet itself has none of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from kit.papers.said import word
from kit.papers.stamp import Stamp, needs_text
from kit.papers.typeset import Plain, qr_svg, typeset

LONGEST_TEXT = 1500
"""Characters of one cell: the longest finding that the register takes, and its author."""

Pairs = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list. `share` is its part of the width; `mono` for codes and hashes that are compared by sign."""

    name: str
    share: float = 1
    mono: bool = False
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One part: a heading, then what there is of sentences, facts and rows. `empty` is said if there are no rows.

    `deep` puts it a step below the part before it.
    """

    heading: str
    said: Sequence[str] = ()
    facts: Pairs = ()
    columns: Sequence[Column] = ()
    rows: Sequence[Sequence[str]] = ()
    empty: str = ""
    deep: bool = False

    def __post_init__(self) -> None:
        needs_text(self.heading, "heading of a part")
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(
                    f"A row of {self.heading} has {len(row)} cells for {len(self.columns)} columns."
                )


@dataclass(frozen=True, slots=True)
class Dossier:
    """`name` is what the paper is ("Item passport"), `about` what it is about; `code` is printed as a QR code.

    Whoever fills it says its words in the language in which it is printed.
    """

    name: str
    about: str
    stamp: Stamp
    lead: Sequence[str] = ()
    banner: str = ""
    banner_more: str = ""
    parts: Sequence[Part] = field(default=())
    code: str = ""
    caution: str = ""

    def __post_init__(self) -> None:
        needs_text(self.about, "subject of the paper")


def dossier_pdf(paper: Dossier) -> bytes:
    """The paper as a tagged PDF (PDF/UA-1) in the active language, for a mono A4 printer."""
    data: dict[str, Plain] = {
        "name": paper.name,
        "about": paper.about,
        "lead": list(paper.lead),
        "banner": paper.banner,
        "banner_more": paper.banner_more,
        "qr": qr_svg(paper.code) if paper.code else "",
        "code": paper.code,
        "caution": paper.caution,
        "parts": [
            {
                "heading": part.heading,
                "said": list(part.said),
                "facts": [[name, value] for name, value in part.facts if value],
                "columns": [
                    {"name": c.name, "share": str(c.share), "mono": c.mono, "strong": c.strong}
                    for c in part.columns
                ],
                "rows": [list(row) for row in part.rows],
                "empty": part.empty,
                "deep": part.deep,
            }
            for part in paper.parts
        ],
    }
    return typeset("dossier", f"{paper.name} {paper.about}", paper.stamp, data, longest=LONGEST_TEXT)


def in_language(paper: Dossier) -> Dossier:
    """The paper with such names and sentences said in its language; codes and hashes stay as they are."""
    return replace(
        paper,
        lead=[word(text) for text in paper.lead],
        banner_more=word(paper.banner_more),
        parts=[_part(part) for part in paper.parts],
    )


def _part(part: Part) -> Part:
    return replace(
        part,
        said=[word(text) for text in part.said],
        facts=[(name, word(value)) for name, value in part.facts],
        rows=[
            [text if column.mono else word(text) for text, column in zip(row, part.columns, strict=True)]
            for row in part.rows
        ],
    )
