"""A stock-take: what should have lain in a place when the count began, what was scanned there, what became of each."""

from django.db import models
from django.db.models import Q

from kit.models.depot import Depot, Place
from kit.models.item import Item


class StockTake(models.Model):
    """One count of a place, or of a whole depot (no place). Several people may scan for it at once, over days."""

    number = models.PositiveIntegerField(unique=True)
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="stock_takes")
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_takes"
    )
    started_at = models.DateTimeField()
    started_by = models.CharField(max_length=150)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.CharField(max_length=150, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["place"],
                condition=Q(closed_at__isnull=True, place__isnull=False),
                name="place_counted_once_at_a_time",
            ),
            models.UniqueConstraint(
                fields=["depot"],
                condition=Q(closed_at__isnull=True, place__isnull=True),
                name="depot_counted_once_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | ~Q(closed_by=""),
                name="stock_take_is_closed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"S{self.number}"

    @property
    def where(self) -> str:
        return f"{self.place}, {self.depot}" if self.place else str(self.depot)

    @property
    def open(self) -> bool:
        return self.closed_at is None


class Settled(models.TextChoices):
    """What a person decided about one line that did not come out even."""

    OPEN = "", "Not settled"
    FOUND = "found", "Found"
    LOST = "lost", "Noted as lost"
    MOVED = "moved", "Place changed in the book"
    PUT_BACK = "put back", "Put back where it belongs"
    COUNTED = "counted", "Counted"
    NOTED = "noted", "Noted"


class StockTakeLine(models.Model):
    """One piece or lot of a stock-take, or a code that no item bears (`item` empty).

    `expected` and what the book held are frozen when the count begins; a piece that turns up besides has no such part.
    """

    stock_take = models.ForeignKey(StockTake, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_take_lines"
    )
    text = models.CharField(max_length=200, blank=True)
    expected = models.BooleanField(default=False)
    quantity_at_start = models.PositiveIntegerField(null=True, blank=True)
    counted_quantity = models.PositiveIntegerField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_by = models.CharField(max_length=150, blank=True)
    settled = models.CharField(max_length=10, choices=Settled.choices, default="", blank=True)
    settled_by = models.CharField(max_length=150, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    why = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["stock_take_id", "item__tag", "text"]
        constraints = [
            models.UniqueConstraint(fields=["stock_take", "item"], name="item_once_a_stock_take"),
            models.UniqueConstraint(
                fields=["stock_take", "text"], condition=Q(item__isnull=True), name="code_once_a_stock_take"
            ),
            models.CheckConstraint(
                condition=Q(item__isnull=False) | ~Q(text=""), name="stock_take_line_says_what"
            ),
            models.CheckConstraint(
                condition=Q(expected=True) | Q(seen_at__isnull=False), name="stock_take_line_expected_or_seen"
            ),
            models.CheckConstraint(condition=Q(settled__in=Settled.values), name="settled_is_known"),
            models.CheckConstraint(condition=Q(settled="") | ~Q(settled_by=""), name="settled_by_somebody"),
        ]

    def __str__(self) -> str:
        return self.item.tag if self.item else self.text
