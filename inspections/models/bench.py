"""What runs at the bench and is no record yet, keys of calendar feeds, wishes about mail. Not told of in the ledger."""

from django.conf import settings
from django.db import models

from inspections.models.check import Check
from kit.models import Depot, Item


class HoldRun(models.Model):
    """A hold test that has been started: its clock runs in the database, so that it survives a reload.

    It becomes a record when its end is entered, and goes then, or when it is broken off.
    """

    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="+")
    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="hold_run")
    check_run = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="+", db_column="check_id")
    gauge = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    start_pressure = models.DecimalField(max_digits=12, decimal_places=6)
    unit = models.CharField(max_length=8)
    start_c = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    started_at = models.DateTimeField()
    started_by = models.CharField(max_length=150)

    class Meta:
        ordering = ["started_at", "id"]

    def __str__(self) -> str:
        return f"hold test of {self.item} since {self.started_at}"


class FeedKey(models.Model):
    """The key of one person's calendar feed of due dates at one depot. Only its hash is kept."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feed_keys")
    depot = models.ForeignKey(Depot, on_delete=models.CASCADE, related_name="+")
    key_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "depot"], name="one_feed_a_person_and_depot")]

    def __str__(self) -> str:
        return f"feed of {self.user} at {self.depot}"


class MailWish(models.Model):
    """Whether a person wants reminders of one depot by mail; without a row they do."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="mail_wishes")
    depot = models.ForeignKey(Depot, on_delete=models.CASCADE, related_name="+")
    wants = models.BooleanField(default=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "depot"], name="one_wish_a_person_and_depot")]

    def __str__(self) -> str:
        return f"{self.user} {'wants' if self.wants else 'does not want'} mail of {self.depot}"


class MailSent(models.Model):
    """A digest that went to an address on a day, by the SHA-256 of its text: the same one goes once a day."""

    address = models.CharField(max_length=254)
    depot = models.ForeignKey(Depot, on_delete=models.CASCADE, related_name="+")
    sent_on = models.DateField()
    digest_hash = models.CharField(max_length=64)

    class Meta:
        indexes = [models.Index(fields=["sent_on"], name="mail_sent_by_day")]
        constraints = [
            models.UniqueConstraint(
                fields=["address", "depot", "sent_on", "digest_hash"], name="same_digest_once_a_day"
            )
        ]

    def __str__(self) -> str:
        return f"digest of {self.depot} to {self.address} on {self.sent_on}"
