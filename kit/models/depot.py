"""Depots, the places in their stores, and who does what at which depot."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Depot(models.Model):
    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120, blank=True)
    # How many inspections a day a plan may count on; 0: a plan counts on none.
    bench_a_day = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["code"]
        constraints = [models.CheckConstraint(condition=~Q(code=""), name="depot_has_a_code")]

    def __str__(self) -> str:
        return self.name or self.code


class OpenLinks(models.Manager["DepotLink"]):
    def get_queryset(self) -> models.QuerySet["DepotLink"]:
        return super().get_queryset().filter(withdrawn=False)


class DepotLink(models.Model):
    """The way between two depots that a plan may count on: how many days a transfer takes, in this direction.

    `objects` are those in use; one that is withdrawn is kept, because the ledger tells of it.
    """

    from_depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="links_out")
    to_depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="links_in")
    lead_days = models.PositiveSmallIntegerField()
    withdrawn = models.BooleanField(default=False)

    ever = models.Manager()
    objects = OpenLinks()

    class Meta:
        ordering = ["from_depot__code", "to_depot__code"]
        constraints = [
            models.UniqueConstraint(fields=["from_depot", "to_depot"], name="one_link_a_direction"),
            models.CheckConstraint(condition=~Q(from_depot=F("to_depot")), name="link_joins_two_depots"),
        ]

    def __str__(self) -> str:
        return f"{self.from_depot.code} to {self.to_depot.code}"


class PlacesInUse(models.Manager["Place"]):
    def get_queryset(self) -> models.QuerySet["Place"]:
        return super().get_queryset().filter(withdrawn=False)


class Place(models.Model):
    """A rack, bay, cage or shelf of one depot's store; `walk` orders places as the van is loaded.

    `objects` are those in use; one that is withdrawn is kept, because the ledger and old stock-takes tell of it.
    """

    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="places")
    name = models.CharField(max_length=80)
    walk = models.PositiveIntegerField(default=0)
    withdrawn = models.BooleanField(default=False)

    ever = models.Manager()
    objects = PlacesInUse()

    class Meta:
        ordering = ["depot__code", "walk", "name"]
        constraints = [
            models.UniqueConstraint(fields=["depot", "name"], name="place_named_once_a_depot"),
            models.CheckConstraint(condition=~Q(name=""), name="place_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    STORES = "stores", "Stores person"
    CREW = "crew", "Van crew"
    PLANNER = "planner", "Planner"
    EXAMINER = "examiner", "Examiner"
    COMPLIANCE = "compliance", "Compliance lead"
    DUTY = "duty manager", "Duty manager"


class RolesHeld(models.Manager["Membership"]):
    def get_queryset(self) -> models.QuerySet["Membership"]:
        return super().get_queryset().filter(withdrawn=False)


class Membership(models.Model):
    """One role of one person at one depot.

    `objects` are those that are held; one that was taken away is kept, because the ledger tells of it.
    """

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships")
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role.choices)
    withdrawn = models.BooleanField(default=False)

    ever = models.Manager()
    objects = RolesHeld()

    class Meta:
        ordering = ["depot__code", "role"]
        constraints = [
            models.UniqueConstraint(fields=["user", "depot", "role"], name="role_held_once"),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="role_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.user} is {self.get_role_display()} at {self.depot}"
