"""The consignment named in an address, or by what was scanned: a transfer note, or a piece that is on the way."""

from __future__ import annotations

import re

from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest
from django.utils.translation import gettext as _

from kit.models import Item, Transfer
from kit.stores import on_the_way
from kit.views.found import scanned
from kit.workbooks.cell_text import tidy

# The long form stands in the note's QR code: no tag is likely to read so. People type the short one.
_NOTE = re.compile(r"(?:transfer\s*|t-?)0*(\d{1,9})", re.IGNORECASE)
_LONG = re.compile(r"transfer", re.IGNORECASE)


def transfers_in_sight(request: HttpRequest) -> QuerySet[Transfer]:
    """Consignments that leave or reach a depot at which the person has a role."""
    own = [depot.pk for depot in request.desk.depots]
    return Transfer.objects.filter(Q(from_depot__in=own) | Q(to_depot__in=own)).select_related(
        "from_depot", "to_depot"
    )


def transfer_in_sight(request: HttpRequest, number: int) -> Transfer:
    """The consignment of that number, or 404."""
    found = transfers_in_sight(request).filter(number=number).first()
    if found is None:
        raise Http404(f"no consignment {number} in sight")
    return found


def transfer_scanned(request: HttpRequest, code: str) -> tuple[Transfer | None, str]:
    """The consignment that a scanned note or piece belongs to, and why there is none.

    A tag that reads like a short number (T12) wins: the label was scanned, numbers are typed.
    """
    named = _NOTE.fullmatch(tidy(code[:200]))
    note = transfers_in_sight(request).filter(number=int(named[1])).first() if named else None
    if note is not None and _LONG.match(code.strip()):
        return note, ""
    found = scanned(request, code, jobs=False)
    way = on_the_way(found.item) if found.item is not None else None
    if way is not None:
        return way.transfer, ""
    if note is not None:
        return note, ""
    if named and not found.items:
        return None, _(
            "No consignment %(code)s leaves or reaches your depots. Check the number on the note."
        ) % {"code": code.strip()}
    return None, found.why or _not_on_the_way(found.items)


def _not_on_the_way(items: list[Item]) -> str:
    if len(items) > 1:
        tags = ", ".join(item.tag for item in items)
        return _(
            "That may be any of %(tags)s. Scan the tag itself, or type it exactly as the label has it."
        ) % {"tags": tags}
    return _("%(tag)s is not in transit: the book has it at %(depot)s.") % {
        "tag": items[0].tag,
        "depot": items[0].depot,
    }
