"""Stocks of labels of the depots' own: set, changed, withdrawn; and all that can be printed on."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from kit.label_stock import STOCKS, LabelStock, faults_of
from kit.models import Deed, LabelPaper
from kit.stores.act import Act, NotAllowed

LENGTHS = (
    "page_width_mm",
    "page_height_mm",
    "label_width_mm",
    "label_height_mm",
    "left_mm",
    "top_mm",
    "pitch_x_mm",
    "pitch_y_mm",
)
FIGURES = (*LENGTHS, "columns", "rows")


def stocks() -> dict[str, LabelStock]:
    """Every stock that labels can be printed on, by its code: those shipped, then the depots' own by name."""
    return {**STOCKS, **{row.code: stock_of(row) for row in LabelPaper.objects.filter(withdrawn=False)}}


def stock_of(row: LabelPaper) -> LabelStock:
    return stock_with(row.code, {name: getattr(row, name) for name in FIGURES})


def stock_with(code: str, figures: dict[str, Any]) -> LabelStock:
    """The stock of these figures. Raises NotAllowed, with a sentence, for one that cannot be printed on."""
    try:
        stock = LabelStock(
            code,
            columns=int(figures["columns"]),
            rows=int(figures["rows"]),
            **{name: float(figures[name] or 0) for name in LENGTHS},
        )
    except ValueError as fault:
        raise NotAllowed(str(fault)) from fault
    if faults := faults_of(stock):
        raise NotAllowed(" ".join(faults))
    return stock


def set_label_paper(act: Act, code: str, name: str, figures: dict[str, Any]) -> LabelPaper:
    """Enter a stock, or change the one of that code; a withdrawn one is offered again. Told if anything differs.

    Raises NotAllowed for a shipped one, for one without a name, and for sizes that do not fit.
    """
    name = " ".join(name.split())
    if code in STOCKS:
        raise NotAllowed(f"{code} is shipped and stays as it is: give yours a code of its own.")
    if not name:
        raise NotAllowed("Give the stock a name by which people know it on the shelf.")
    stock_with(name, figures)
    values = {key: figures[key] if key in ("columns", "rows") else _exact(figures[key]) for key in FIGURES}
    row = LabelPaper.objects.filter(code=code).first()
    before = None if row is None else _in_words(row)
    if row is None:
        row = act.create(LabelPaper(code=code, name=name, **values))
    elif not act.change(row, name=name, withdrawn=False, **values):
        return row
    act.tell(Deed.CHANGED, [row], note=f"label stock {name}", facts={"before": before, "is": _in_words(row)})
    return row


def withdraw_label_paper(act: Act, row: LabelPaper, why: str) -> None:
    """It is not offered any longer. Raises NotAllowed without a reason."""
    if not why.strip():
        raise NotAllowed(f"Say why {row} is withdrawn.")
    if act.change(row, withdrawn=True):
        act.tell(Deed.CHANGED, [row], note=f"label stock {row} withdrawn: {why.strip()}")


def _exact(length: Any) -> Decimal:
    return Decimal(str(length or 0)).quantize(Decimal("0.01"))


def _in_words(row: LabelPaper) -> str:
    page = f"{row.page_width_mm:g} x {row.page_height_mm:g}"
    label = f"{row.label_width_mm:g} x {row.label_height_mm:g}"
    return (
        f"{row.columns} x {row.rows} labels of {label} mm on {page} mm, margins {row.left_mm:g}, {row.top_mm:g}, "
        f"pitch {row.pitch_x_mm:g}, {row.pitch_y_mm:g}"
    )
