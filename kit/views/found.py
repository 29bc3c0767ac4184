"""What a screen works on: the item or job named in its address, or by what a scanner sent."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest
from django.utils.translation import gettext as _

from kit.models import Depot, Item, Job, State
from kit.planning.named import MOST_CHOICES, by_label
from kit.planning.scanned_codes import read_code
from kit.workbooks.cell_text import tidy

LONGEST_CODE = 200
OUT_OF_USE = (State.WITHDRAWN, State.LOST)


def items_in_sight(request: HttpRequest) -> QuerySet[Item]:
    """Items of the depots at which the person has a role, and those on their way to one of them."""
    own = [depot.pk for depot in request.desk.depots]
    return Item.objects.filter(Q(depot__in=own) | Q(transit_to__in=own))


def item_in_sight(request: HttpRequest, tag: str) -> Item:
    """The item of exactly this tag, or 404."""
    item = (
        items_in_sight(request).select_related("kind", "depot", "place", "transit_to").filter(tag=tag).first()
    )
    if item is None:
        raise Http404(f"no item {tag} in sight")
    return item


def job_in_sight(request: HttpRequest, reference: str) -> Job:
    """The job of exactly this reference at a depot of the person, or 404."""
    own = [depot.pk for depot in request.desk.depots]
    jobs = Job.objects.select_related("depot", "arrangement")
    job = jobs.filter(depot__in=own, reference=reference).first()
    if job is None:
        raise Http404(f"no job {reference} in sight")
    return job


def must(request: HttpRequest, action: str, depot: Depot) -> None:
    """Raise PermissionDenied unless the person may do that at the depot."""
    if not request.desk.may(action, depot):
        raise PermissionDenied(
            _("Your roles at %(depot)s do not include this. Ask a compliance lead if they should.")
            % {"depot": depot}
        )


@dataclass(frozen=True)
class Scanned:
    """What a code can mean: the items and jobs it names, or, if none is in sight, why not."""

    code: str
    items: list[Item]
    jobs: list[Job]
    why: str = ""

    @property
    def only(self) -> Item | Job | None:
        """The one thing that the code names; None if that is not certain."""
        named = [*self.items, *self.jobs]
        return named[0] if len(named) == 1 else None

    @property
    def refusal(self) -> str:
        """Why the code does not name one item: a sentence for whoever holds the piece."""
        return self.why or _(
            "%(code)s may be %(tags)s. Scan the tag itself, or type it exactly as the label has it."
        ) % {"code": self.code, "tags": _(" or ").join(item.tag for item in self.items)}

    @property
    def item(self) -> Item | None:
        return self.items[0] if len(self.items) == 1 else None


def scanned(request: HttpRequest, code: str, jobs: bool = True) -> Scanned:
    """Look up what was scanned or typed: a tag, with `jobs` a job reference as well, a GS1 code, a maker's serial.

    `kit.planning.named` says in which order; a reference of a job counts as much as a tag. Where it may be several
    things, all are given and the person has to choose.
    """
    read = read_code(code[:LONGEST_CODE].replace("\x00", ""))
    text = tidy(read.text)
    if not text:
        return Scanned(text, [], [], _("Nothing was read. Scan the label again, or type what it says."))
    own = [depot.pk for depot in request.desk.depots]
    names = _OfRegister()
    items = names.spelt(text)
    listed: list[Job] = []
    if jobs:
        of_depots = Job.objects.select_related("depot").filter(depot__in=own).order_by("reference")
        listed = _spelt(of_depots, "reference", text)
    if not items and not listed:
        items = by_label(read, text, names)
    seen = [item for item in items if item.depot_id in own or item.transit_to_id in own]
    if seen or listed:
        return Scanned(text, seen, listed)
    if items:
        return Scanned(text, [], [], _elsewhere(items[0]))
    if read.is_gs1:
        why = _("No item bears what this code says: %(said)s. Look it up in the register by its serial.")
        return Scanned(text, [], [], why % {"said": read.in_words})
    if jobs:
        why = _("No item and no job of your depots is called %(code)s. Check the label for a slip.")
    else:
        why = _("No item has the tag %(code)s. Check the label for a slip, or look it up in the register.")
    return Scanned(text, [], [], why % {"code": text})


class _OfRegister:
    """Names as the database holds them."""

    def __init__(self) -> None:
        self.known = Item.objects.select_related("kind", "depot", "transit_to").order_by("tag")

    def spelt(self, text: str) -> list[Item]:
        return _spelt(self.known, "tag", text)

    def tagged(self, tags: Iterable[str]) -> list[Item]:
        return list(self.known.filter(tag__in=list(tags))[:MOST_CHOICES])

    def with_serial(self, serial: str) -> list[Item]:
        return list(self.known.filter(serial__iexact=serial))

    def in_use(self, piece: Item) -> bool:
        return piece.state not in OUT_OF_USE


def _spelt(rows: QuerySet, column: str, code: str) -> list:
    exact = list(rows.filter(**{column: code}))
    return exact or list(rows.filter(**{f"{column}__iexact": code})[:MOST_CHOICES])


def _elsewhere(item: Item) -> str:
    return _(
        "%(tag)s belongs to %(depot)s, where you have no role. Put it aside and tell that depot where it is."
    ) % {"tag": item.tag, "depot": item.depot}
