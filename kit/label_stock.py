"""The stocks that labels are printed on, by their millimetres: sheets, and rolls of one label a page. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

LEAST_WIDTH_MM, LEAST_HEIGHT_MM = 50, 30
"""The smallest label on which the code, the tag and the use-by date still stand apart: tried out here, no source."""
MOST_MM = 420
MOST_A_PAGE = 200
SLIP_MM = 0.005
"""Lengths are kept to a hundredth; sums of them are compared with this to spare."""


@dataclass(frozen=True, slots=True)
class LabelStock:
    """All lengths in mm. `left` and `top` are the sheet's margins; a pitch runs from one label's edge to the next's.

    A roll is a page of the size of its one label. Raises ValueError, with a sentence, for labels that do not fit.
    """

    code: str
    page_width_mm: float
    page_height_mm: float
    label_width_mm: float
    label_height_mm: float
    columns: int = 1
    rows: int = 1
    left_mm: float = 0
    top_mm: float = 0
    pitch_x_mm: float = 0
    pitch_y_mm: float = 0

    def __post_init__(self) -> None:
        if self.columns < 1 or self.rows < 1:
            raise ValueError(f"{self.code} has no labels: give it 1 row and 1 column or more.")
        across = self.left_mm + (self.columns - 1) * self.pitch_x_mm + self.label_width_mm
        down = self.top_mm + (self.rows - 1) * self.pitch_y_mm + self.label_height_mm
        if across > self.page_width_mm + SLIP_MM or down > self.page_height_mm + SLIP_MM:
            raise ValueError(
                f"{self.code}: the labels reach {across:g} by {down:g} mm, past the page of "
                f"{self.page_width_mm:g} by {self.page_height_mm:g} mm."
            )

    @property
    def a_page(self) -> int:
        return self.columns * self.rows

    def places(self) -> Iterator[tuple[float, float]]:
        """The left and top edge of each label in mm, along the rows, as they are counted."""
        for row in range(self.rows):
            for column in range(self.columns):
                yield (
                    round(self.left_mm + column * self.pitch_x_mm, 3),
                    round(self.top_mm + row * self.pitch_y_mm, 3),
                )


def faults_of(stock: LabelStock) -> list[str]:
    """What keeps a stock that fits its page from being printed on all the same: sentences."""
    said = []
    if min(stock.left_mm, stock.top_mm) < 0:
        said.append("A margin below 0 would print beside the page: give 0 or more.")
    if stock.label_width_mm < LEAST_WIDTH_MM or stock.label_height_mm < LEAST_HEIGHT_MM:
        said.append(
            f"A label of {stock.label_width_mm:g} by {stock.label_height_mm:g} mm has no room for the code, the tag and"
            f" the use-by date: it has to be {LEAST_WIDTH_MM} by {LEAST_HEIGHT_MM} mm at the least."
        )
    if max(stock.page_width_mm, stock.page_height_mm) > MOST_MM:
        said.append(f"A page of more than {MOST_MM} mm is not printed on.")
    if stock.a_page > MOST_A_PAGE:
        said.append(f"A page takes {MOST_A_PAGE} labels at most, and this has {stock.a_page}.")
    for word, many, pitch, length in (
        ("column", stock.columns, stock.pitch_x_mm, stock.label_width_mm),
        ("row", stock.rows, stock.pitch_y_mm, stock.label_height_mm),
    ):
        if many > 1 and pitch < length - SLIP_MM:
            said.append(
                f"From one {word} to the next are {pitch:g} mm, but a label takes {length:g}: they would lie over one"
                " another. Measure from edge to edge of two neighbours."
            )
    return said


STOCKS: dict[str, LabelStock] = {
    stock.code: stock
    for stock in (
        LabelStock("sheet-60x40", 210, 297, 60, 40, 3, 6, 15, 28.5, 60, 40),
        LabelStock("sheet-90x50", 210, 297, 90, 50, 2, 5, 15, 23.5, 90, 50),
        LabelStock("roll-60x40", 60, 40, 60, 40),
        LabelStock("roll-100x50", 100, 50, 100, 50),
    )
}
"""Those that are shipped; a depot's own stand in the register (`kit.models.LabelPaper`)."""
