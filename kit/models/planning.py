"""What people keep for themselves when they plan: trial plans, and keys to a crew's calendar.

Nothing of the register stands here, so the ledger tells of none of it.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

from kit.models.depot import Depot


class TrialPlan(models.Model):
    """A named "what if": changes to the register that are never made, only reckoned with."""

    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="trial_plans")
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="trial_plans")
    name = models.CharField(max_length=80)
    # A list of changes as kit.planning.what_if reads them.
    changes = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["depot", "name"], name="trial_plan_named_once_a_depot"),
            models.CheckConstraint(condition=~Q(name=""), name="trial_plan_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class CrewCalendarKey(models.Model):
    """The key to the calendar feed of one crew of a depot; only its hash is kept. Blank crew: all jobs."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="crew_keys")
    depot = models.ForeignKey(Depot, on_delete=models.CASCADE, related_name="crew_keys")
    crew = models.CharField(max_length=60, blank=True)
    key_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "depot", "crew"], name="one_crew_key_a_person"),
        ]

    def __str__(self) -> str:
        return f"{self.crew or 'all crews'} of {self.depot} for {self.user}"
