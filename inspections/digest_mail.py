"""A digest as a mail: to whom, its subject, its text and the same as simple HTML. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from inspections.digest import digest_of
from inspections.digest_parts import Section
from inspections.models import MailWish
from kit.models import Depot, Membership
from kit.tables.marks import short_day

MOST_LISTED = 40
SAID_IN_SUBJECT = 3


@dataclass(frozen=True, slots=True)
class Letter:
    """One digest for one address. `empty` if nothing is before the person."""

    address: str
    depot: Depot
    subject: str
    text: str
    html: str
    empty: bool

    @property
    def digest_hash(self) -> str:
        return sha256(f"{self.subject}\n{self.text}".encode()).hexdigest()

    def message(self, sender: str) -> EmailMultiAlternatives:
        # RFC 3834: no out-of-office notice answers a mail that says it was sent by a program.
        headers = {"Auto-Submitted": "auto-generated"}
        made = EmailMultiAlternatives(self.subject, self.text, sender, [self.address], headers=headers)
        made.attach_alternative(self.html, "text/html")
        return made


@dataclass(frozen=True, slots=True)
class Reader:
    """A person who is to hear of one depot: their address (may be empty) and roles there."""

    name: str
    address: str
    depot: Depot
    roles: frozenset[str]


def readers(depots: Collection[Depot], role: str | None = None) -> list[Reader]:
    """Who works at these depots and has not stopped the mails, with all their roles there, or only `role`."""
    held: dict[tuple[int, int], set[str]] = defaultdict(set)
    rows = Membership.objects.filter(depot__in=depots, user__is_active=True).select_related("user", "depot")
    rows = rows.order_by("depot__code", "user__username")
    people = {}
    for row in rows.filter(role=role) if role else rows:
        held[row.user_id, row.depot_id].add(row.role)
        people[row.user_id, row.depot_id] = row
    stopped = set(MailWish.objects.filter(wants=False).values_list("user_id", "depot_id"))
    return [
        Reader(
            people[key].user.get_username(), people[key].user.email, people[key].depot, frozenset(held[key])
        )
        for key in people
        if key not in stopped
    ]


def letter(address: str, depot: Depot, roles: Collection[str], today: date, links: str) -> Letter:
    """The digest of these roles. `links` is put before each path, "https://fettlebook.example"."""
    sections = digest_of(roles, depot, today)
    context = {
        "sections": sections,
        "depot": depot,
        "day": today,
        "links": links,
        "most": MOST_LISTED,
        "stop_url": links + reverse("reminders"),
    }
    return Letter(
        address,
        depot,
        _subject(depot, today, sections),
        render_to_string("digest/mail.txt", context).strip() + "\n",
        render_to_string("digest/mail.html", context),
        not sections,
    )


def _subject(depot: Depot, today: date, sections: Sequence[Section]) -> str:
    """The depot and the day, and what bites first counted."""
    # A name on two lines would end the header.
    name = " ".join(str(depot).split())
    return _("%(depot)s, %(day)s: %(what)s") % {
        "depot": name,
        "day": short_day(today),
        "what": ", ".join(_said(sections)) or _("nothing to see to"),
    }


def _said(sections: Sequence[Section]) -> Iterator[str]:
    for section in sections[:SAID_IN_SUBJECT]:
        yield section.said
    if len(sections) > SAID_IN_SUBJECT:
        yield _("and more")
