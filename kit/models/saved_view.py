"""Views of long lists that people keep under a name: which columns, in what order, narrowed to what.

Nothing of the register stands here, so the ledger tells of none of it.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

from kit.models.depot import Depot


class SavedView(models.Model):
    """The address of a list under a name; `shared_with` is the depot whose people see it beside its owner."""

    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="saved_views")
    # The name of a list, as in its address (kit.views.listing).
    listing = models.CharField(max_length=40)
    name = models.CharField(max_length=60)
    query = models.CharField(max_length=2000, blank=True)
    shared_with = models.ForeignKey(
        Depot, on_delete=models.CASCADE, null=True, blank=True, related_name="shared_views"
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["owner", "listing", "name"], name="view_named_once_a_person"),
            models.CheckConstraint(condition=~Q(name=""), name="saved_view_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class UsualView(models.Model):
    """The view with which a list opens for one person."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="usual_views")
    listing = models.CharField(max_length=40)
    view = models.ForeignKey(SavedView, on_delete=models.CASCADE, related_name="usual_for")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "listing"], name="one_usual_view_a_list_and_person"),
        ]

    def __str__(self) -> str:
        return f"{self.listing} of {self.user}"
