"""The ledger: what was done, when it happened, when it was recorded, by whom and from where. Append-only, chained."""

from django.db import models
from django.db.models import Q


class Deed(models.TextChoices):
    """The fixed vocabulary of the ledger: what a person or the register did."""

    FOUND = "found a register", "Register set up"
    LOADED = "loaded", "Register loaded"
    RECEIVED = "received", "Item received"
    CHANGED = "changed", "Details changed"
    STOCK = "counted", "Stock counted"
    PLANNED = "planned", "Job planned"
    MOVED = "moved a job", "Job changed"
    CANCELLED = "cancelled", "Job cancelled"
    ARRANGED = "arranged", "Arrangement changed"
    SIZED = "sized", "Table of mains changed"
    LINKED = "linked", "Way between depots changed"
    RESERVED = "reserved", "Reserved"
    REARRANGED = "rearranged", "Reservations rearranged"
    LET_GO = "let go", "Reservation let go"
    SUBSTITUTED = "substituted", "Substituted"
    BROKE = "broke", "Reservation no longer holds"
    HEALED = "healed", "Reservation holds again"
    ISSUED = "issued", "Issued"
    SHORT = "issued short", "Issued short"
    TAKEN_BACK = "taken back", "Taken back"
    QUARANTINED = "quarantined", "Quarantined"
    RELEASED = "released", "Released from quarantine"
    WITHDRAWN = "withdrawn", "Withdrawn"
    LOST = "lost", "Lost"
    FOUND_AGAIN = "found again", "Found again"
    SENT = "sent", "Sent to another depot"
    ARRIVED = "arrived", "Arrived from another depot"
    NOT_ARRIVED = "not arrived", "Missing from a consignment"
    BOUND = "bound", "Set made up or taken apart"
    INSPECTED = "inspected", "Inspection recorded"
    BROKEN_OFF = "broken off", "Test broken off"
    RULED = "ruled", "Check regime changed"
    REPAIRED = "repaired", "Repaired"
    RETEST = "re-test", "Re-test asked for"
    INVESTIGATED = "investigated", "Quarantine case"
    CONCESSION = "concession", "Concession"
    REVIEWED = "reviewed", "Look-back"
    ATTACHED = "attached", "File attached"
    APPOINTED = "appointed", "Role given"
    RELIEVED = "relieved", "Role taken away"
    PERSON = "person", "Account of a person changed"
    CORRECTED = "corrected", "Correction"
    UNDONE = "undone", "Undone at the counter"
    STOCK_TAKE = "stock-take", "Stock-take"
    VAN = "van", "Entered beside the van"
    PRINTED = "printed", "Paper printed"


class LedgerEntry(models.Model):
    """One entry. `number` runs 1, 2, 3 without a gap; `hash` is SHA-256 over the entry and the hash before it.

    `body` is canonical JSON text (sorted keys, no spaces), so that what was hashed can be read back to the byte:
    {"about": ["item:TAG", ...], "note": "...", "facts": {...}, "rows": [[label, key, {field: value}], ...]}.
    """

    number = models.PositiveBigIntegerField(primary_key=True)
    deed = models.CharField(max_length=20, choices=Deed.choices)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    actor = models.CharField(max_length=150)
    source = models.CharField(max_length=200)
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrections"
    )
    body = models.TextField()
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["recorded_at"], name="ledger_by_recorded")]
        constraints = [
            models.CheckConstraint(condition=Q(number__gte=1), name="ledger_starts_at_one"),
            models.CheckConstraint(condition=~Q(actor=""), name="ledger_names_an_actor"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.deed} by {self.actor}"


class LedgerMention(models.Model):
    """Index from what an entry is about ("item:TAG", "job:REF") to the entry."""

    entry = models.ForeignKey(LedgerEntry, on_delete=models.PROTECT, related_name="mentions")
    about = models.CharField(max_length=120)

    class Meta:
        indexes = [models.Index(fields=["about", "entry"], name="ledger_by_about")]

    def __str__(self) -> str:
        return f"{self.about} in {self.entry_id}"
