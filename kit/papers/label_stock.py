"""The stocks that labels are printed on, by their millimetres: sheets of A4, and rolls of one label a page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LabelStock:
    """All lengths in mm. `left` and `top` are the sheet's margins; a pitch runs from one label's edge to the next's.

    A roll is a page of the size of its one label.
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
        if across > self.page_width_mm or down > self.page_height_mm:
            raise ValueError(
                f"{self.code}: the labels reach {across:g} by {down:g} mm, past the page of "
                f"{self.page_width_mm:g} by {self.page_height_mm:g} mm."
            )

    @property
    def a_page(self) -> int:
        return self.columns * self.rows


STOCKS: dict[str, LabelStock] = {
    stock.code: stock
    for stock in (
        LabelStock("sheet-60x40", 210, 297, 60, 40, 3, 6, 15, 28.5, 60, 40),
        LabelStock("sheet-90x50", 210, 297, 90, 50, 2, 5, 15, 23.5, 90, 50),
        LabelStock("roll-60x40", 60, 40, 60, 40),
        LabelStock("roll-100x50", 100, 50, 100, 50),
    )
}
