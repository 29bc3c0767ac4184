"""Records of inspections, what calls for a check besides its date, and the due dates that follow."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from inspections.models.check import Check, CheckVersion
from kit.models import Item, State


class Verdict(models.TextChoices):
    PASS = "pass", "Pass"
    FAIL = "fail", "Fail"
    DOUBT = "doubt", "Doubt"


class Inspection(models.Model):
    """One record: never edited. What was entered wrongly is answered by a record that `corrects` it.

    `verdict` is as found. `as_left` is what a calibration left behind, and decides whether the gauge may be used from
    then on; empty where nothing was adjusted. `readings` are as entered, `figures` and `why` as computed from them
    by `version`. A record with `struck` only says that the one it corrects does not count; it has no verdict.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="inspections")
    check_done = models.ForeignKey(
        Check, on_delete=models.PROTECT, related_name="inspections", db_column="check_id"
    )
    done_on = models.DateField()
    done_at = models.DateTimeField(null=True, blank=True)
    verdict = models.CharField(max_length=5, choices=Verdict.choices, blank=True)
    as_left = models.CharField(max_length=5, choices=Verdict.choices, blank=True)
    version = models.ForeignKey(
        CheckVersion, on_delete=models.PROTECT, null=True, blank=True, related_name="inspections"
    )
    gauge = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="tests_with_it"
    )
    readings = models.JSONField(default=dict, blank=True)
    figures = models.JSONField(default=dict, blank=True)
    why = models.CharField(max_length=500, blank=True)
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrections"
    )
    struck = models.BooleanField(default=False)
    by = models.CharField(max_length=150, blank=True)
    certificate = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ["item_id", "check_done_id", "done_on", "id"]
        indexes = [
            models.Index(fields=["item", "check_done", "done_on", "id"], name="inspection_latest"),
            models.Index(fields=["gauge", "done_on"], name="inspection_by_gauge"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(struck=False, verdict__in=Verdict.values)
                | Q(struck=True, verdict="", corrects__isnull=False),
                name="verdict_is_known",
            ),
            models.CheckConstraint(condition=Q(as_left__in=["", *Verdict.values]), name="as_left_is_known"),
            models.CheckConstraint(
                condition=Q(gauge__isnull=True) | ~Q(gauge=F("item")), name="a_gauge_does_not_test_itself"
            ),
            models.UniqueConstraint(fields=["corrects"], name="corrected_once"),
        ]

    def __str__(self) -> str:
        return f"{self.check_done} on {self.done_on}: {self.verdict or 'struck out'}"

    @property
    def leaves(self) -> str:
        """The verdict from then on: as left where it was adjusted, else as found."""
        return self.as_left or self.verdict


class UseCall(models.Model):
    """An item came back used: its after-use checks are due again until one is done later.

    Every use is noted, because checks may also be called for by their number, and by how long an item lay unused.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="use_calls")
    used_on = models.DateField()
    after_record = models.PositiveBigIntegerField(default=0)
    job = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["item_id", "used_on", "id"]
        indexes = [models.Index(fields=["item", "used_on"], name="use_call_by_item")]

    def __str__(self) -> str:
        return f"{self.item} used on {self.used_on}"


class Cause(models.TextChoices):
    REPAIR = "repair", "Repaired"
    QUARANTINE = "quarantine", "Set aside"
    ORDERED = "ordered", "Re-test asked for"


class RetestCall(models.Model):
    """Something besides a use that calls for checks again: a repair, a quarantine, or a person who asks for it.

    `check_called` None: every check of the item whose rule asks for it after such an event.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="retest_calls")
    check_called = models.ForeignKey(
        Check, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_column="check_id"
    )
    cause = models.CharField(max_length=12, choices=Cause.choices)
    called_on = models.DateField()
    after_record = models.PositiveBigIntegerField(default=0)
    why = models.CharField(max_length=400, blank=True)
    called_by = models.CharField(max_length=150)

    class Meta:
        ordering = ["item_id", "called_on", "id"]
        indexes = [models.Index(fields=["item", "called_on"], name="retest_call_by_item")]
        constraints = [
            models.CheckConstraint(condition=Q(cause__in=Cause.values), name="retest_cause_is_known"),
            models.CheckConstraint(
                condition=~Q(cause=Cause.ORDERED) | Q(check_called__isnull=False),
                name="ordered_names_its_check",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.cause} on {self.called_on}"


class DueQuerySet(models.QuerySet["Due"]):
    def overdue(self, as_of: date) -> "DueQuerySet":
        """Due before `as_of`, or never done; items withdrawn or lost left out."""
        return self.of_items_in_use().filter(Q(due_on__lt=as_of) | Q(due_on__isnull=True))

    def within(self, as_of: date, last: date) -> "DueQuerySet":
        return self.of_items_in_use().filter(Q(due_on__lte=last) | Q(due_on__isnull=True))

    def of_items_in_use(self) -> "DueQuerySet":
        return self.exclude(item__state__in=[State.WITHDRAWN, State.LOST])


class Due(models.Model):
    """Derived: when one check of one item is next due. due_on None: never done. Re-derivable from the records."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="dues")
    check_due = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="+", db_column="check_id")
    due_on = models.DateField(null=True, blank=True)
    last_done = models.DateField(null=True, blank=True)
    last_verdict = models.CharField(max_length=5, blank=True)
    status = models.CharField(max_length=6)
    note = models.CharField(max_length=300, blank=True)
    conceded_from = models.DateField(null=True, blank=True)
    grace_until = models.DateField(null=True, blank=True)

    objects = DueQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["item", "check_due"], name="due_once_a_check")]
        indexes = [models.Index(fields=["due_on", "item"], name="due_by_day")]

    def __str__(self) -> str:
        return f"{self.check_due} of {self.item} due {self.due_on or 'at once'}"
