"""What reviews put on other pages: on the gauge's, on those of items tested with it, and on the page of the day."""

from __future__ import annotations

from django.http import HttpRequest

from inspections.models import Outcome, Review, ReviewedRecord
from inspections.tables.reviews import review_mark
from inspections.views.reviews import counted
from kit.models import Item, Role
from kit.ports import Panel

MOST_SHOWN = 8
READERS = frozenset({Role.COMPLIANCE, Role.EXAMINER})


def item_panel(request: HttpRequest, item: Item) -> Panel | None:
    """Open reviews of the gauge; of any item its records that are under review and not decided."""
    of_gauge = counted(Review.objects.filter(gauge=item, closed_at=None))
    records = ReviewedRecord.objects.filter(
        inspection__item=item, outcome=Outcome.OPEN, review__closed_at=None
    ).select_related("inspection__check_done", "review__gauge")
    rows = [(review, review_mark(review, request.desk.today)) for review in of_gauge]
    if not rows and not records:
        return None
    return Panel("reviews/item_panel.html", {"reviews": rows, "records": records})


def today_panel(request: HttpRequest) -> Panel | None:
    """For compliance lead and examiner: open reviews of gauges at this depot, the oldest first."""
    if not READERS & request.desk.roles:
        return None
    found = Review.objects.filter(gauge__depot=request.desk.depot, closed_at=None)
    rows = [
        (review, review_mark(review, request.desk.today)) for review in counted(found).order_by("opened_at")
    ]
    if not rows:
        return None
    return Panel(
        "reviews/today_panel.html", {"reviews": rows[:MOST_SHOWN], "more": max(0, len(rows) - MOST_SHOWN)}
    )
