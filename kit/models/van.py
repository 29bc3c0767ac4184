"""What a crew entered beside the van, often without a signal: kept as the phone said it, each taken in once."""

from django.db import models
from django.db.models import Q

from kit.models.item import Item
from kit.models.job import Job


class VanDeed(models.TextChoices):
    """What was done with a piece."""

    SEEN = "seen", "Seen on the van"
    PASSED = "passed", "Passed its test before use"
    FAILED = "failed", "Failed its test before use"
    REPORTED = "reported", "Failure reported"
    SWAPPED = "swapped", "Spare taken in its place"


class Taken(models.TextChoices):
    """What came of an entry when it arrived."""

    DONE = "done", "Taken in"
    OPEN = "open", "For a person to settle"
    SETTLED = "settled", "Settled"


class VanEntry(models.Model):
    """One entry of a phone. `uid` was made there: sent twice, it is the same entry and does nothing again.

    `said_at` is the time by the phone's clock, never put right; `clock_ahead_s` is how many seconds that clock was
    ahead of the store's when the entry arrived (negative: behind). `item` and `spare` are empty where the code names
    no piece of the register: the entry is kept for a person to settle all the same.
    """

    uid = models.UUIDField(unique=True)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="van_entries")
    what = models.CharField(max_length=10, choices=VanDeed.choices)
    code = models.CharField(max_length=200)
    item = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="van_entries"
    )
    spare_code = models.CharField(max_length=200, blank=True)
    spare = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="van_entries_as_spare"
    )
    note = models.CharField(max_length=500, blank=True)
    made_by = models.CharField(max_length=150)
    said_at = models.DateTimeField()
    clock_ahead_s = models.IntegerField()
    arrived_at = models.DateTimeField()
    taken = models.CharField(max_length=10, choices=Taken.choices)
    why = models.CharField(max_length=600, blank=True)
    settled_by = models.CharField(max_length=150, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-arrived_at", "-pk"]
        indexes = [
            models.Index(fields=["job", "arrived_at"], name="van_entries_by_job"),
            models.Index(fields=["job"], condition=Q(taken="open"), name="van_entries_open"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=~Q(taken="open") | ~Q(why=""), name="van_entry_says_why_it_is_open"
            ),
            models.CheckConstraint(
                condition=~Q(taken="settled")
                | (~Q(settled_by="") & ~Q(settled_note="") & Q(settled_at__isnull=False)),
                name="van_entry_is_settled_by_somebody",
            ),
            models.CheckConstraint(
                condition=~Q(taken="done") | Q(item__isnull=False), name="van_entry_done_names_a_piece"
            ),
            models.CheckConstraint(
                condition=Q(what="swapped") | Q(spare__isnull=True), name="van_entry_swaps_a_spare"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}: {self.code}"
