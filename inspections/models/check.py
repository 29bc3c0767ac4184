"""Checks (regimes of inspection, test, calibration or thorough examination), and each version of them."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from kit.models import Item, Kind

EVER = date(1, 1, 1)
"""A version in force from this day has always been in force."""


class Basis(models.TextChoices):
    DONE = "done", "From the day done"
    ANCHOR = "anchor", "On a fixed grid"


class Method(models.TextChoices):
    PLAIN = "plain", "Inspection"
    HOLD_TEST = "hold test", "Hold test"
    CALIBRATION = "calibration", "Calibration"


class DecisionRule(models.TextChoices):
    """How the guard band counts: the idea of ISO 14253-1 and ILAC-G8."""

    GUARDED = "guarded", "Guarded: within the guard band is a doubt"
    SIMPLE = "simple", "Simple: the limit alone decides"


class RuleColumns(models.Model):
    """What a check asks for: columns of each version, and of the check itself for the version in force now."""

    interval = models.CharField(max_length=20)
    basis = models.CharField(max_length=8, choices=Basis.choices, default=Basis.DONE)
    early_days = models.PositiveSmallIntegerField(default=0)
    grace_days = models.PositiveSmallIntegerField(default=0)
    gates = models.BooleanField(default=True)
    after_use = models.BooleanField(default=False)
    after_repair = models.BooleanField(default=False)
    after_quarantine = models.BooleanField(default=False)
    after_uses = models.PositiveSmallIntegerField(default=0)
    after_storage = models.CharField(max_length=20, blank=True)
    source = models.CharField(max_length=200, blank=True)
    procedure = models.CharField(max_length=80, blank=True)
    # A role (kit.models.Role) that whoever does it must hold at the item's depot; empty: who may inspect there.
    done_by = models.CharField(max_length=20, blank=True)
    concession_days = models.PositiveSmallIntegerField(default=30)
    method = models.CharField(max_length=12, choices=Method.choices, default=Method.PLAIN)
    unit = models.CharField(max_length=8, blank=True)
    max_pressure = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    max_drop = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    hold_minutes = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    guard = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    decision = models.CharField(max_length=8, choices=DecisionRule.choices, default=DecisionRule.GUARDED)
    accuracy_class = models.DecimalField(max_digits=8, decimal_places=4, null=True, blank=True)
    span = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    # Limits printed for further units: {"psi": {"max_pressure": "3", "max_drop": "0.15", "guard": "0"}}.
    other_limits = models.JSONField(default=dict, blank=True)
    # What is read besides, as data (inspections.judging.forms): {"fields": [...]}; empty: a plain verdict.
    form = models.JSONField(default=dict, blank=True)
    # With one of these it is asked only of items of that mark, maker or batch.
    mark = models.CharField(max_length=40, blank=True)
    maker = models.CharField(max_length=80, blank=True)
    batch = models.CharField(max_length=80, blank=True)
    # True from the day on which it is no longer asked for.
    retired = models.BooleanField(default=False)

    class Meta:
        abstract = True

    @property
    def narrowed(self) -> bool:
        """Whether it is asked of some items of its kind only."""
        return bool(self.mark or self.maker or self.batch)

    def suits(self, item: Item) -> bool:
        """Whether the item is of the mark, maker and batch that the rule names, if it names any."""
        return all(
            not wanted or wanted.casefold() == had.strip().casefold()
            for wanted, had in (
                (self.mark, item.mark),
                (self.maker, item.maker),
                (self.batch, item.batch),
            )
        )


RULE_COLUMNS: tuple[str, ...] = tuple(field.name for field in RuleColumns._meta.local_fields)


def _rule_constraints(of: str) -> list[models.CheckConstraint]:
    return [
        models.CheckConstraint(condition=~Q(interval=""), name=f"{of}_has_an_interval"),
        models.CheckConstraint(condition=Q(basis__in=Basis.values), name=f"{of}_basis_is_known"),
        models.CheckConstraint(condition=Q(method__in=Method.values), name=f"{of}_method_is_known"),
        models.CheckConstraint(condition=Q(decision__in=DecisionRule.values), name=f"{of}_decision_is_known"),
        # Grace is never for a check that gates: a piece past its gate does not go out.
        models.CheckConstraint(condition=Q(gates=False) | Q(grace_days=0), name=f"{of}_grace_never_gates"),
    ]


class CheckQuerySet(models.QuerySet["Check"]):
    def in_force(self) -> "CheckQuerySet":
        return self.filter(retired=False)


class Check(RuleColumns):
    """One check of one kind, with the rule in force now; `versions` has every rule it ever had.

    A check that is no longer asked for is retired, never deleted: records point at it.
    """

    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="checks")
    name = models.CharField(max_length=80)
    version = models.PositiveIntegerField(default=1)
    in_force_from = models.DateField(default=EVER)

    objects = CheckQuerySet.as_manager()

    class Meta:
        ordering = ["kind__name", "name"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "name"], name="check_named_once_a_kind"),
            models.CheckConstraint(condition=~Q(name=""), name="check_has_a_name"),
            models.CheckConstraint(condition=~Q(name="use-by"), name="check_is_not_called_use_by"),
            *_rule_constraints("check"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.kind}"

    def is_asked_of(self, item: Item) -> bool:
        """Whether the item is of the kind, and of the mark, maker and batch that the rule in force now names."""
        return self.kind_id == item.kind_id and self.suits(item)


class CheckVersionQuerySet(models.QuerySet["CheckVersion"]):
    def awaiting(self, today: date) -> "CheckVersionQuerySet":
        """Those whose day has come, while their check still follows an earlier one."""
        return self.filter(in_force_from__lte=today, in_force_from__gt=F("of__in_force_from"))


class CheckVersion(RuleColumns):
    """One version of a check: in force from a day until the next one is. Never edited: a change is a new version.

    On a day, the version of the latest `in_force_from` up to that day is in force, of equal ones the later made.
    `shipped`: it came with the program, and gives way to the depot's own as if it had never been.
    """

    of = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="versions", db_column="check_id")
    number = models.PositiveIntegerField()
    in_force_from = models.DateField(default=EVER)
    known_on = models.DateField()
    made_by = models.CharField(max_length=150)
    why = models.CharField(max_length=400, blank=True)
    shipped = models.BooleanField(default=False)

    objects = CheckVersionQuerySet.as_manager()

    class Meta:
        ordering = ["of_id", "in_force_from", "number"]
        constraints = [
            models.UniqueConstraint(fields=["of", "number"], name="version_numbered_once_a_check"),
            *_rule_constraints("version"),
        ]

    def __str__(self) -> str:
        return f"{self.of}, version {self.number}"
