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


class Side(models.TextChoices):
    """Which main a line has to suit, where the main differs on the two sides of the job."""

    EVERY = "every", "Every position"
    NEAR = "near", "Near side"
    FAR = "far", "Far side"


class ArrangementLine(models.Model):
    arrangement = models.ForeignKey(Arrangement, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField()
    match = models.CharField(max_length=10, choices=Match.choices, default=Match.ANY)
    side = models.CharField(max_length=6, choices=Side.choices, default=Side.EVERY)
    # Lines of one assembly are made up into units of which all pieces share a mark.
    assembly = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["arrangement_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["arrangement", "name"], name="line_named_once_an_arrangement"),
            models.UniqueConstraint(fields=["arrangement", "position"], name="line_position_once"),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="line_needs_at_least_one"),
            models.CheckConstraint(condition=Q(match__in=Match.values), name="line_match_is_known"),
            models.CheckConstraint(condition=Q(side__in=Side.values), name="line_side_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.name}: {self.quantity} x {self.kind}"


class LineSubstitute(models.Model):
    """Another kind that may fill a line where the line's own kind does not; `rank` 1 is taken before 2."""

    line = models.ForeignKey(ArrangementLine, on_delete=models.PROTECT, related_name="substitutes")
    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="+")
    rank = models.PositiveSmallIntegerField(default=1)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["line_id", "rank", "kind__name"]
        constraints = [
            models.UniqueConstraint(fields=["line", "kind"], name="substitute_named_once_a_line"),
            models.CheckConstraint(condition=Q(rank__gte=1), name="substitute_rank_from_1"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} for {self.line.name}"


class PipeSize(models.Model):
    """A main of the depot's own table (cast iron, spun iron, old steel): what its size as written stands for.

    Either the inside diameter is known, or the outside diameter and the wall are.
    """

    material = models.CharField(max_length=60)
    size = models.CharField(max_length=40)
    inside_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    outside_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    wall_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    source = models.CharField(max_length=200)
    note = models.CharField(max_length=300, blank=True)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["material", "size"]
        constraints = [
            models.UniqueConstraint(fields=["material", "size"], name="pipe_size_once_a_material"),
            models.CheckConstraint(
                condition=~Q(material="") & ~Q(size="") & ~Q(source=""), name="pipe_size_says_what_and_whence"
            ),
            models.CheckConstraint(
                condition=Q(inside_mm__gt=0) | Q(outside_mm__gt=0, wall_mm__gt=0),
                name="pipe_size_gives_a_bore",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.material} {self.size}"


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
    # The bore on the far side, where it differs; a line for every position has to suit both.
    far_bore_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    # What the bore may differ by: out of round (greatest less least diameter), and a lining (thickness).
    ovality_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    lining_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    base_mark = models.CharField(max_length=40, blank=True)
    crew = models.CharField(max_length=60, blank=True)
    # What it weighs that the job is short, when not all jobs can be whole.
    priority = models.PositiveSmallIntegerField(default=1)
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
            models.CheckConstraint(
                condition=Q(far_bore_mm__isnull=True) | Q(far_bore_mm__gt=0), name="job_far_bore_is_positive"
            ),
            models.CheckConstraint(condition=Q(priority__range=(1, 9)), name="job_priority_1_to_9"),
        ]

    def __str__(self) -> str:
        return self.reference
