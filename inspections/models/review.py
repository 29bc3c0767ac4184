"""The review of what relied on a gauge that was found out of tolerance (rule 8 of the trade)."""

from django.db import models
from django.db.models import Q

from inspections.models.inspection import Inspection, Verdict
from kit.models import Item


class Review(models.Model):
    """Opened by one failing as-found calibration. `after` is the day of the last passing one before, if any."""

    gauge = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="reviews")
    calibration = models.OneToOneField(Inspection, on_delete=models.PROTECT, related_name="review")
    after = models.DateField(null=True, blank=True)
    until = models.DateField()
    opened_at = models.DateTimeField()
    opened_by = models.CharField(max_length=150)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.CharField(max_length=150, blank=True)
    conclusion = models.CharField(max_length=1000, blank=True)

    class Meta:
        ordering = ["-opened_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by="")
                | (Q(closed_at__isnull=False) & ~Q(closed_by="") & ~Q(conclusion="")),
                name="closed_review_says_who_and_what",
            ),
        ]

    def __str__(self) -> str:
        return f"review of {self.gauge} until {self.until}"


class Outcome(models.TextChoices):
    OPEN = "", "Not decided yet"
    STANDS = "stands", "The verdict stands"
    REPEAT = "repeat", "To be repeated"
    SET_ASIDE = "set aside", "The item was set aside"


class ReviewedRecord(models.Model):
    """One record under review, judged again with the found error. `rejudged` is empty where it cannot be computed."""

    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="records")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="reviewed_in")
    rejudged = models.CharField(max_length=5, choices=Verdict.choices, blank=True)
    figures = models.JSONField(default=dict, blank=True)
    why = models.CharField(max_length=500, blank=True)
    outcome = models.CharField(max_length=10, choices=Outcome.choices, blank=True, default=Outcome.OPEN)
    decided_by = models.CharField(max_length=150, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["review_id", "inspection__done_on", "inspection_id"]
        constraints = [
            models.UniqueConstraint(fields=["review", "inspection"], name="record_once_a_review"),
            models.CheckConstraint(condition=Q(rejudged__in=["", *Verdict.values]), name="rejudged_is_known"),
            models.CheckConstraint(condition=Q(outcome__in=Outcome.values), name="review_outcome_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.inspection} in {self.review}"

    @property
    def flips(self) -> bool:
        """Whether the verdict would have been another."""
        return bool(self.rejudged) and self.rejudged != self.inspection.verdict
