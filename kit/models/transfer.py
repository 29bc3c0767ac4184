"""Consignments between depots: what was sent together, who signed for sending it and who for its arrival."""

from django.db import models
from django.db.models import F, Q

from kit.models.depot import Depot
from kit.models.item import Item


class Transfer(models.Model):
    """One consignment from one depot to another. It is closed when every line has arrived or is accounted for."""

    number = models.PositiveIntegerField(unique=True)
    from_depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="transfers_out")
    to_depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="transfers_in")
    sent_on = models.DateField()
    arrives_on = models.DateField()
    sent_by = models.CharField(max_length=150)
    carrier = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    closed = models.BooleanField(default=False)

    class Meta:
        ordering = ["-number"]
        indexes = [models.Index(fields=["to_depot", "closed", "arrives_on"], name="transfer_by_arrival")]
        constraints = [
            models.CheckConstraint(condition=~Q(from_depot=F("to_depot")), name="transfer_joins_two_depots"),
            models.CheckConstraint(
                condition=Q(arrives_on__gte=F("sent_on")), name="transfer_arrives_after_sending"
            ),
            models.CheckConstraint(condition=~Q(sent_by=""), name="transfer_is_signed_for"),
        ]

    def __str__(self) -> str:
        return f"T{self.number}"


class Arrival(models.TextChoices):
    """What became of one piece of a consignment."""

    ON_THE_WAY = "", "On the way"
    ARRIVED = "arrived", "Arrived"
    MISSING = "missing", "Not in the consignment"
    BACK = "back", "Back at the sending depot"


class TransferLine(models.Model):
    """One piece of a consignment, or a lot; whoever signs for what became of it is another person than sent it.

    `quantity` is what was sent, `arrived_quantity` what of a lot was counted at the other end.
    """

    transfer = models.ForeignKey(Transfer, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="transfer_lines")
    quantity = models.PositiveIntegerField(default=1)
    outcome = models.CharField(max_length=8, choices=Arrival.choices, default="", blank=True)
    arrived_on = models.DateField(null=True, blank=True)
    arrived_by = models.CharField(max_length=150, blank=True)
    arrived_quantity = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["transfer_id", "item__tag"]
        constraints = [
            models.UniqueConstraint(fields=["transfer", "item"], name="item_once_a_transfer"),
            models.UniqueConstraint(
                fields=["item"], condition=Q(outcome=""), name="item_on_one_way_at_a_time"
            ),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="transfer_of_at_least_one"),
            models.CheckConstraint(condition=Q(outcome__in=Arrival.values), name="transfer_outcome_is_known"),
            models.CheckConstraint(
                condition=Q(outcome="") | (Q(arrived_on__isnull=False) & ~Q(arrived_by="")),
                name="arrival_is_signed_for",
            ),
            models.CheckConstraint(
                condition=Q(arrived_quantity__isnull=True) | Q(arrived_quantity__lte=F("quantity")),
                name="no_more_arrives_than_was_sent",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} on {self.transfer}"
