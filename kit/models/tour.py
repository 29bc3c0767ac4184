"""What each person has seen of the tour. Nothing of the register: the ledger tells of none of it."""

from django.conf import settings
from django.db import models


class TourStep(models.Model):
    """A step of the tour that a person has seen."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="tour_steps")
    slug = models.CharField(max_length=40)
    seen_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "slug"], name="tour_step_seen_once")]

    def __str__(self) -> str:
        return f"{self.slug} seen by {self.user}"
