"""Kinds of item, and the items themselves."""

from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.utils.functional import cached_property

from kit.models.depot import Depot, Place
from kit.planning.values import NO_LIMIT, Gate


class Precision(models.TextChoices):
    DAY = "day", "Day"
    MONTH = "month", "Month"
    QUARTER = "quarter", "Quarter"


class ShortDate(models.TextChoices):
    """What a label such as 3/94 means."""

    ASK = "", "Ask: it is ambiguous"
    MONTH = "month", "Month and year"
    QUARTER = "quarter", "Quarter and year"


class SizedBy(models.TextChoices):
    """Which diameter of a main the range of an item has to cover."""

    INSIDE = "inside", "Inside diameter (bore)"
    OUTSIDE = "outside", "Outside diameter"


class Kind(models.Model):
    """A kind of item as data: what identifies it, what has to match, and how much slack a job needs."""

    name = models.CharField(max_length=60, unique=True)
    counted = models.BooleanField(default=False)
    has_bore = models.BooleanField(default=False)
    has_mark = models.BooleanField(default=False)
    has_serial = models.BooleanField(default=True)
    has_batch = models.BooleanField(default=False)
    has_use_by = models.BooleanField(default=False)
    turn_round_days = models.PositiveSmallIntegerField(default=0)
    margin_days = models.PositiveSmallIntegerField(default=0)
    check_after_use = models.BooleanField(default=False)
    short_date = models.CharField(max_length=8, choices=ShortDate.choices, default="", blank=True)
    sized_by = models.CharField(max_length=8, choices=SizedBy.choices, default=SizedBy.INSIDE)
    # By how much an item's range has to reach beyond the main at either end.
    bore_margin_mm = models.DecimalField(max_digits=6, decimal_places=3, default=Decimal(0))

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="kind_has_a_name"),
            models.CheckConstraint(
                condition=Q(short_date__in=ShortDate.values), name="kind_short_date_is_known"
            ),
            models.CheckConstraint(condition=Q(sized_by__in=SizedBy.values), name="kind_sized_by_is_known"),
            models.CheckConstraint(condition=Q(bore_margin_mm__gte=0), name="kind_bore_margin_not_below_0"),
        ]

    def __str__(self) -> str:
        return self.name


class MakerLabel(models.Model):
    """How one maker prints short dates on one kind, where that differs from the kind's own setting."""

    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="maker_labels")
    maker = models.CharField(max_length=80)
    short_date = models.CharField(max_length=8, choices=ShortDate.choices)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "maker"], name="label_rule_once_a_maker")]

    def __str__(self) -> str:
        return f"{self.kind} by {self.maker}: {self.get_short_date_display()}"


class State(models.TextChoices):
    AVAILABLE = "available", "Available"
    QUARANTINED = "quarantined", "Quarantined"
    WITHDRAWN = "withdrawn", "Withdrawn"
    LOST = "lost", "Lost"


class Custody(models.TextChoices):
    STORE = "store", "In the store"
    ON_SITE = "on-site", "On site"
    IN_TRANSIT = "in-transit", "In transit"


class ItemQuerySet(models.QuerySet["Item"]):
    def fit_through(self, day: date) -> "ItemQuerySet":
        """Items whose use-by and gating checks all last up to and with `day`. One index range."""
        return self.filter(fit_until__gte=day)

    def issuable(self, day: date) -> "ItemQuerySet":
        """Fit through `day`, available and in the store."""
        return self.fit_through(day).filter(state=State.AVAILABLE, custody=Custody.STORE)

    def in_use(self) -> "ItemQuerySet":
        """All that is not withdrawn or lost."""
        return self.exclude(state__in=[State.WITHDRAWN, State.LOST])


class Item(models.Model):
    """One tagged piece, or one lot of a counted kind (`quantity` is then what the depot holds).

    `fit_until`, `fit_reason` and `gates` are derived: written by the action that moves them, in its transaction.
    fit_until is None when the item is not fit at all and NO_LIMIT when no date limits it.
    """

    tag = models.CharField(max_length=60, unique=True)
    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="items")
    counted = models.BooleanField(default=False)
    maker = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=80, blank=True)
    batch = models.CharField(max_length=80, blank=True)
    bore_min_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    bore_max_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    mark = models.CharField(max_length=40, blank=True)
    made_on = models.DateField(null=True, blank=True)
    use_by = models.DateField(null=True, blank=True)
    use_by_precision = models.CharField(max_length=8, choices=Precision.choices, default=Precision.DAY)
    use_by_text = models.CharField(max_length=40, blank=True)
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="items")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="items")
    quantity = models.PositiveIntegerField(default=1)
    # Pieces of one depot with the same name of a set go out together or not at all.
    set_name = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=500, blank=True)

    state = models.CharField(max_length=12, choices=State.choices, default=State.AVAILABLE)
    state_why = models.CharField(max_length=500, blank=True)
    state_by = models.CharField(max_length=150, blank=True)
    state_since = models.DateTimeField(null=True, blank=True)
    custody = models.CharField(max_length=12, choices=Custody.choices, default=Custody.STORE)
    transit_to = models.ForeignKey(
        Depot, on_delete=models.PROTECT, null=True, blank=True, related_name="arriving"
    )
    arrives_on = models.DateField(null=True, blank=True)
    sent_by = models.CharField(max_length=150, blank=True)

    fit_until = models.DateField(null=True, blank=True)
    fit_reason = models.CharField(max_length=300, blank=True)
    gates_json = models.JSONField(default=list, blank=True)

    # Not in the ledger's images: they follow from what is, and are proved by deriving them anew.
    DERIVED = ("fit_until", "fit_reason", "gates_json")

    objects = ItemQuerySet.as_manager()

    class Meta:
        ordering = ["tag"]
        indexes = [
            models.Index(fields=["fit_until"], name="item_by_fit_until"),
            models.Index(fields=["depot", "kind", "state", "fit_until"], name="item_choice"),
            models.Index(fields=["use_by"], name="item_by_use_by"),
            models.Index(fields=["batch"], name="item_by_batch"),
            models.Index(fields=["set_name"], condition=~Q(set_name=""), name="item_by_set"),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(tag=""), name="item_has_a_tag"),
            models.UniqueConstraint(
                fields=["maker", "kind", "serial"],
                condition=~Q(serial=""),
                name="serial_once_a_maker_and_kind",
            ),
            models.CheckConstraint(condition=Q(state__in=State.values), name="item_state_is_known"),
            models.CheckConstraint(condition=Q(custody__in=Custody.values), name="item_custody_is_known"),
            models.CheckConstraint(
                condition=Q(use_by_precision__in=Precision.values), name="item_precision_is_known"
            ),
            models.CheckConstraint(
                condition=Q(bore_min_mm__isnull=True, bore_max_mm__isnull=True)
                | Q(bore_min_mm__isnull=False, bore_max_mm__isnull=False, bore_min_mm__lte=F("bore_max_mm")),
                name="item_bore_range_in_order",
            ),
            models.CheckConstraint(
                condition=Q(bore_min_mm__isnull=True) | Q(bore_min_mm__gt=0), name="item_bore_is_positive"
            ),
            models.CheckConstraint(
                condition=Q(use_by__isnull=True) | Q(made_on__isnull=True) | Q(use_by__gte=F("made_on")),
                name="item_made_before_use_by",
            ),
            models.CheckConstraint(condition=Q(counted=True) | Q(quantity=1), name="single_piece_is_one"),
            models.CheckConstraint(condition=Q(counted=False) | Q(set_name=""), name="no_lot_is_in_a_set"),
            models.CheckConstraint(
                condition=Q(custody=Custody.IN_TRANSIT, transit_to__isnull=False)
                | (~Q(custody=Custody.IN_TRANSIT) & Q(transit_to__isnull=True)),
                name="item_in_transit_goes_somewhere",
            ),
            models.CheckConstraint(
                condition=~Q(state=State.QUARANTINED) | ~Q(state_why=""), name="quarantine_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return self.tag

    @cached_property
    def gates(self) -> tuple[Gate, ...]:
        return tuple(gate_from_json(g) for g in self.gates_json)

    @property
    def limited(self) -> bool:
        return self.fit_until is not None and self.fit_until < NO_LIMIT

    def fit_on(self, day: date) -> bool:
        return self.fit_until is not None and self.fit_until >= day


def gate_to_json(gate: Gate) -> dict[str, str | None]:
    return {
        "check": gate.check,
        "status": gate.status,
        "due_on": gate.due_on.isoformat() if gate.due_on else None,
        "last_done": gate.last_done.isoformat() if gate.last_done else None,
        "note": gate.note,
        "conceded_from": gate.conceded_from.isoformat() if gate.conceded_from else None,
    }


def gate_from_json(data: dict[str, str | None]) -> Gate:
    def day(text: str | None) -> date | None:
        return date.fromisoformat(text) if text else None

    return Gate(
        check=data["check"] or "",
        status=data["status"],  # type: ignore[arg-type]
        due_on=day(data["due_on"]),
        last_done=day(data["last_done"]),
        note=data.get("note") or "",
        conceded_from=day(data.get("conceded_from")),
    )
