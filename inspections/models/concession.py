"""Concessions: a due date extended, within bounds, by somebody who did not ask for it."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from inspections.models.check import Check
from kit.models import Item


class ConcessionState(models.TextChoices):
    ASKED = "asked", "Asked for"
    GRANTED = "granted", "Granted"
    REFUSED = "refused", "Refused"
    ENDED = "ended", "Ended early"


class ConcessionQuerySet(models.QuerySet["Concession"]):
    def running(self, day: date) -> "ConcessionQuerySet":
        """Granted, and not past their end."""
        return self.filter(state=ConcessionState.GRANTED, until__gte=day)


class Concession(models.Model):
    """`due_on` is the due date that it extends, `until` the day up to and with which it does.

    It lapses of itself when the due date moves: a later record or another rule gives another date.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="concessions")
    check_due = models.ForeignKey(
        Check, on_delete=models.PROTECT, related_name="concessions", db_column="check_id"
    )
    due_on = models.DateField()
    until = models.DateField()
    reason = models.CharField(max_length=500)
    risk = models.CharField(max_length=500)
    conditions = models.CharField(max_length=500, blank=True)
    state = models.CharField(max_length=8, choices=ConcessionState.choices, default=ConcessionState.ASKED)
    asked_by = models.CharField(max_length=150)
    asked_at = models.DateTimeField()
    decided_by = models.CharField(max_length=150, blank=True)
    decided_on = models.DateField(null=True, blank=True)
    decision_note = models.CharField(max_length=500, blank=True)
    ended_by = models.CharField(max_length=150, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    ended_why = models.CharField(max_length=400, blank=True)

    objects = ConcessionQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-id"]
        indexes = [models.Index(fields=["item", "check_due"], name="concession_by_item")]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=ConcessionState.values), name="concession_state_is_known"
            ),
            models.CheckConstraint(condition=Q(until__gt=F("due_on")), name="concession_extends"),
            models.CheckConstraint(
                condition=~Q(reason="") & ~Q(risk=""), name="concession_says_why_and_at_what_risk"
            ),
            models.CheckConstraint(
                condition=~Q(decided_by=F("asked_by")), name="nobody_grants_their_own_concession"
            ),
            models.CheckConstraint(
                condition=Q(state=ConcessionState.ASKED, decided_by="", decided_on__isnull=True)
                | (~Q(state=ConcessionState.ASKED) & ~Q(decided_by="") & Q(decided_on__isnull=False)),
                name="decided_concession_says_who_and_when",
            ),
            models.UniqueConstraint(
                fields=["item", "check_due", "due_on"],
                condition=Q(state=ConcessionState.ASKED),
                name="one_open_request_a_due_date",
            ),
        ]

    def __str__(self) -> str:
        return f"concession for {self.check_due} of {self.item} until {self.until}"

    @property
    def in_words(self) -> str:
        """For a paper or a person at the counter: what is extended, and under which conditions."""
        said = f"By concession until {self.until}: {self.check_due.name} was due on {self.due_on}."
        if not self.conditions:
            return said
        conditions = self.conditions if self.conditions.endswith((".", "!", "?")) else f"{self.conditions}."
        return f"{said} Conditions: {conditions}"
