"""Arrangements (patterns of a flow stop) as versioned data, and the jobs that use them."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from kit.models.depot import Depot
from kit.models.item import Kind


class Arrangement(models.Model):
    """One version of a pattern; a change makes the next version, jobs keep the version they were planned with."""

    name = models.CharField(max_length=120)
    version = models.PositiveIntegerField(default=1)
    current = models.BooleanField(default=True)
    source = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=1000, blank=True)

    class Meta:
        ordering = ["name", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["name", "version"], name="arrangement_version_once"),
            models.UniqueConstraint(
                fields=["name"], condition=Q(current=True), name="arrangement_has_one_current_version"
            ),
            models.CheckConstraint(condition=~Q(name=""), name="arrangement_has_a_name"),
        ]

    def __str__(self) -> str:
        return f"{self.name} (version {self.version})"


class Match(models.TextChoices):
    ANY = "any", "Any"
    BORE = "bore", "Bore"
    MARK = "mark", "Mark"
    BORE_AND_MARK = "bore+mark", "Bore and mark"


class ArrangementLine(models.Model):
    arrangement = models.ForeignKey(Arrangement, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField()
    match = models.CharField(max_length=10, choices=Match.choices, default=Match.ANY)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["arrangement_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["arrangement", "name"], name="line_named_once_an_arrangement"),
            models.UniqueConstraint(fields=["arrangement", "position"], name="line_position_once"),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="line_needs_at_least_one"),
            models.CheckConstraint(condition=Q(match__in=Match.values), name="line_match_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.name}: {self.quantity} x {self.kind}"


class JobState(models.TextChoices):
    PLANNED = "planned", "Planned"
    OUT = "out", "Out"
    CLOSED = "closed", "Closed"
    CANCELLED = "cancelled", "Cancelled"


class JobQuerySet(models.QuerySet["Job"]):
    def open(self) -> "JobQuerySet":
        return self.filter(state__in=[JobState.PLANNED, JobState.OUT])

    def loading_between(self, first: date, last: date) -> "JobQuerySet":
        return self.open().filter(load_on__range=(first, last))


class Job(models.Model):
    """A flow-stopping job and its window; both ends belong to it. bore_mm is the measured bore and wins."""

    reference = models.CharField(max_length=60, unique=True)
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="jobs")
    site = models.CharField(max_length=200, blank=True)
    load_on = models.DateField()
    return_on = models.DateField()
    main_material = models.CharField(max_length=60, blank=True)
    main_size = models.CharField(max_length=40, blank=True)
    main_sdr = models.CharField(max_length=20, blank=True)
    main_wall_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    bore_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    base_mark = models.CharField(max_length=40, blank=True)
    arrangement = models.ForeignKey(Arrangement, on_delete=models.PROTECT, related_name="jobs")
    state = models.CharField(max_length=10, choices=JobState.choices, default=JobState.PLANNED)
    revision = models.PositiveIntegerField(default=1)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["load_on", "reference"]
        indexes = [models.Index(fields=["depot", "load_on"], name="job_by_loading")]
        constraints = [
            models.CheckConstraint(condition=~Q(reference=""), name="job_has_a_reference"),
            models.CheckConstraint(
                condition=Q(return_on__gte=F("load_on")), name="job_returns_after_loading"
            ),
            models.CheckConstraint(condition=Q(state__in=JobState.values), name="job_state_is_known"),
            models.CheckConstraint(
                condition=Q(bore_mm__isnull=True) | Q(bore_mm__gt=0), name="job_bore_is_positive"
            ),
        ]

    def __str__(self) -> str:
        return self.reference
