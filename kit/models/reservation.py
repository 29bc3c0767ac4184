"""What is promised to which job, and what became of it."""

from django.db import models
from django.db.models import F, Q

from kit.models.item import Item
from kit.models.job import ArrangementLine, Job


class Standing(models.TextChoices):
    """Where a reservation stands. Promised and issued hold the item; no two of those may overlap."""

    PROMISED = "promised", "Promised"
    BROKEN = "broken", "No longer holds"
    ISSUED = "issued", "Issued"
    RETURNED = "returned", "Returned"
    RELEASED = "released", "Let go"


HOLDING = (Standing.PROMISED, Standing.ISSUED)
OPEN = (Standing.PROMISED, Standing.BROKEN, Standing.ISSUED)


class Outcome(models.TextChoices):
    NONE = "", "Not back yet"
    USED = "used", "Used"
    UNUSED = "unused", "Unused"
    DAMAGED = "damaged", "Damaged"
    MISSING = "missing", "Missing"


class ReservationQuerySet(models.QuerySet["Reservation"]):
    def holding(self) -> "ReservationQuerySet":
        return self.filter(standing__in=HOLDING)

    def open(self) -> "ReservationQuerySet":
        return self.filter(standing__in=OPEN)


class Reservation(models.Model):
    """One item (or `quantity` of a lot) for one line of one job.

    `starts` is the job's loading day, `ends` its return day and the kind's turn-round days; both belong to it.
    A broken reservation no longer holds: it is kept, with why and a proposed substitute, until a person decides.
    The database refuses overlapping holding reservations of one item (see migration 0002).
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="reservations")
    line = models.ForeignKey(ArrangementLine, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="reservations")
    counted = models.BooleanField(default=False)
    quantity = models.PositiveIntegerField(default=1)
    starts = models.DateField()
    ends = models.DateField()
    standing = models.CharField(max_length=10, choices=Standing.choices, default=Standing.PROMISED)
    why = models.CharField(max_length=600, blank=True)
    proposed = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    issued_on = models.DateField(null=True, blank=True)
    back_on = models.DateField(null=True, blank=True)
    outcome = models.CharField(max_length=8, choices=Outcome.choices, default="", blank=True)
    back_quantity = models.PositiveIntegerField(null=True, blank=True)

    objects = ReservationQuerySet.as_manager()

    class Meta:
        ordering = ["job_id", "line__position", "item__tag"]
        indexes = [
            models.Index(fields=["item", "standing", "starts", "ends"], name="reservation_by_item"),
            models.Index(fields=["job", "standing"], name="reservation_by_job"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "item"],
                condition=Q(standing__in=["promised", "broken", "issued"], counted=False),
                name="item_once_a_job",
            ),
            models.CheckConstraint(condition=Q(ends__gte=F("starts")), name="reservation_ends_after_start"),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="reservation_of_at_least_one"),
            models.CheckConstraint(
                condition=Q(counted=True) | Q(quantity=1), name="reservation_of_a_piece_is_one"
            ),
            models.CheckConstraint(
                condition=Q(standing__in=Standing.values), name="reservation_standing_is_known"
            ),
            models.CheckConstraint(
                condition=Q(outcome__in=Outcome.values), name="reservation_outcome_is_known"
            ),
            models.CheckConstraint(
                condition=~Q(standing__in=["issued", "returned"]) | Q(issued_on__isnull=False),
                name="issued_has_a_day",
            ),
            models.CheckConstraint(
                condition=~Q(standing="returned") | (Q(back_on__isnull=False) & ~Q(outcome="")),
                name="returned_has_an_outcome",
            ),
            models.CheckConstraint(
                condition=~Q(standing__in=["broken", "released"]) | ~Q(why=""), name="not_held_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} for {self.job}"
