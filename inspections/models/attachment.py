"""Photos and certificates: what was attached, its hash, and its bytes."""

from django.db import models
from django.db.models import Q

from inspections.models.case import QuarantineCase
from inspections.models.inspection import Inspection
from kit.models import Item

MOST_BYTES = 8_000_000
"""The largest file that is taken, in bytes: a phone's photo, a scanned certificate of some pages."""


class Attachment(models.Model):
    """A file about an item, or about one record or case of it. Its bytes stand beside it; the hash holds them fast."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="attachments")
    inspection = models.ForeignKey(
        Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="attachments"
    )
    case = models.ForeignKey(
        QuarantineCase, on_delete=models.PROTECT, null=True, blank=True, related_name="attachments"
    )
    name = models.CharField(max_length=120)
    content_type = models.CharField(max_length=40)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    note = models.CharField(max_length=200, blank=True)
    added_by = models.CharField(max_length=150)
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["-added_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(size__lte=MOST_BYTES), name="attachment_is_not_too_large"),
            models.CheckConstraint(condition=~Q(sha256=""), name="attachment_has_a_hash"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.item}"


class AttachmentBytes(models.Model):
    """The bytes, apart from what the ledger tells: the ledger keeps their hash."""

    attachment = models.OneToOneField(
        Attachment, on_delete=models.PROTECT, primary_key=True, related_name="bytes"
    )
    content = models.BinaryField()

    def __str__(self) -> str:
        return f"bytes of {self.attachment}"
