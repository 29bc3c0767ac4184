"""Quarantine as a case: why an item was set aside, what was found and done, what was used with it, what was decided."""

from django.db import models
from django.db.models import Q

from kit.models import Item, Job


class Decision(models.TextChoices):
    RELEASED = "released", "Released to the store"
    WITHDRAWN = "withdrawn", "Withdrawn for good"
    LOST = "lost", "Lost while set aside"


class QuarantineCase(models.Model):
    """One stay of one item in quarantine. `decision` is empty while it is open."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="cases")
    opened_at = models.DateTimeField()
    opened_by = models.CharField(max_length=150)
    why = models.CharField(max_length=500)
    # The job on which it failed or from which it came back, if that is known.
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="cases")
    retest_required = models.BooleanField(default=True)
    decision = models.CharField(max_length=10, choices=Decision.choices, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.CharField(max_length=150, blank=True)
    findings = models.CharField(max_length=1000, blank=True)
    cause = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["opened_at", "id"]
        indexes = [models.Index(fields=["decision", "opened_at"], name="case_by_age")]
        constraints = [
            models.UniqueConstraint(fields=["item"], condition=Q(decision=""), name="one_open_case_an_item"),
            models.CheckConstraint(
                condition=Q(decision__in=["", *Decision.values]), name="case_decision_is_known"
            ),
            models.CheckConstraint(condition=~Q(why=""), name="case_has_a_reason"),
            models.CheckConstraint(
                condition=Q(decision="", decided_at__isnull=True, decided_by="")
                | (~Q(decision="") & Q(decided_at__isnull=False) & ~Q(decided_by="")),
                name="decided_case_says_who_and_when",
            ),
        ]

    def __str__(self) -> str:
        return f"case {self.pk} of {self.item}"

    @property
    def is_open(self) -> bool:
        return not self.decision


class NoteKind(models.TextChoices):
    REASON = "reason", "Further reason"
    FINDING = "finding", "Finding"
    ACTION = "action", "Action"
    NOTICE = "notice", "Notice considered"


class CaseNote(models.Model):
    """One thing found, done or considered in a case. Never edited.

    `about` names the notice that was considered (a key of the notices shown), empty for the rest.
    """

    case = models.ForeignKey(QuarantineCase, on_delete=models.PROTECT, related_name="notes")
    kind = models.CharField(max_length=8, choices=NoteKind.choices)
    about = models.CharField(max_length=40, blank=True)
    text = models.CharField(max_length=1000)
    by = models.CharField(max_length=150)
    at = models.DateTimeField()

    class Meta:
        ordering = ["case_id", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=NoteKind.values), name="case_note_kind_is_known"),
            models.CheckConstraint(condition=~Q(text=""), name="case_note_says_something"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} in {self.case}"


class Looked(models.TextChoices):
    OPEN = "", "Not looked at yet"
    LEFT = "left", "Looked at and left in use"
    SET_ASIDE = "set aside", "Set aside as well"


class CaseCompanion(models.Model):
    """An item that was used together with the one set aside: a failure may lie in hose, gauge or controller."""

    case = models.ForeignKey(QuarantineCase, on_delete=models.PROTECT, related_name="companions")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="companion_in")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    looked = models.CharField(max_length=10, choices=Looked.choices, blank=True, default=Looked.OPEN)
    text = models.CharField(max_length=400, blank=True)
    by = models.CharField(max_length=150, blank=True)
    at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["case_id", "item__tag"]
        constraints = [
            models.UniqueConstraint(fields=["case", "item"], name="companion_once_a_case"),
            models.CheckConstraint(condition=Q(looked__in=Looked.values), name="companion_look_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.item} used with {self.case}"
