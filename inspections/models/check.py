"""Checks (regimes of inspection, test, calibration or thorough examination) and the records made under them."""

from datetime import date

from django.db import models
from django.db.models import Q

from kit.models import Item, Kind, State


class Basis(models.TextChoices):
    DONE = "done", "From the day done"
    ANCHOR = "anchor", "On a fixed grid"


class CheckQuerySet(models.QuerySet["Check"]):
    def in_force(self) -> "CheckQuerySet":
        return self.filter(retired=False)


class Check(models.Model):
    """One check of one kind. A check that is no longer asked for is retired, never deleted: records point at it."""

    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="checks")
    name = models.CharField(max_length=80)
    interval = models.CharField(max_length=20)
    basis = models.CharField(max_length=8, choices=Basis.choices, default=Basis.DONE)
    early_days = models.PositiveSmallIntegerField(default=0)
    gates = models.BooleanField(default=True)
    after_use = models.BooleanField(default=False)
    source = models.CharField(max_length=200, blank=True)
    retired = models.BooleanField(default=False)

    objects = CheckQuerySet.as_manager()

    class Meta:
        ordering = ["kind__name", "name"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "name"], name="check_named_once_a_kind"),
            models.CheckConstraint(condition=~Q(name=""), name="check_has_a_name"),
            models.CheckConstraint(condition=~Q(name="use-by"), name="check_is_not_called_use_by"),
            models.CheckConstraint(condition=~Q(interval=""), name="check_has_an_interval"),
            models.CheckConstraint(condition=Q(basis__in=Basis.values), name="check_basis_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.kind}"


class Verdict(models.TextChoices):
    PASS = "pass", "Pass"
    FAIL = "fail", "Fail"
    DOUBT = "doubt", "Doubt"


class Inspection(models.Model):
    """One record: never edited; what was entered wrongly is answered by a later record."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="inspections")
    check_done = models.ForeignKey(
        Check, on_delete=models.PROTECT, related_name="inspections", db_column="check_id"
    )
    done_on = models.DateField()
    verdict = models.CharField(max_length=5, choices=Verdict.choices)
    by = models.CharField(max_length=150, blank=True)
    certificate = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ["item_id", "check_done_id", "done_on", "id"]
        indexes = [models.Index(fields=["item", "check_done", "done_on", "id"], name="inspection_latest")]
        constraints = [
            models.CheckConstraint(condition=Q(verdict__in=Verdict.values), name="verdict_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.check_done} on {self.done_on}: {self.verdict}"


class UseCall(models.Model):
    """An item came back used: from that day its after-use checks are due again until one is done later."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="use_calls")
    used_on = models.DateField()
    after_record = models.PositiveBigIntegerField(default=0)
    job = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["item_id", "used_on", "id"]
        indexes = [models.Index(fields=["item", "used_on"], name="use_call_by_item")]

    def __str__(self) -> str:
        return f"{self.item} used on {self.used_on}"


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

    objects = DueQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["item", "check_due"], name="due_once_a_check")]
        indexes = [models.Index(fields=["due_on", "item"], name="due_by_day")]

    def __str__(self) -> str:
        return f"{self.check_due} of {self.item} due {self.due_on or 'at once'}"
