"""Which screen records a check: its method and its form decide."""

from __future__ import annotations

from django.urls import reverse
from django.utils.http import urlencode

from inspections.models import Check, Method
from kit.models import Item


def record_url(item: Item, check: Check) -> str:
    """The address of the screen that records this check of the item."""
    if check.method == Method.HOLD_TEST:
        return f"{reverse('hold_bench')}?{urlencode({'code': item.tag, 'check': check.name})}"
    if check.method == Method.CALIBRATION:
        name = "calibrate"
    else:
        name = "form_check" if check.form else "record"
    return f"{reverse(name, args=[item.tag])}?{urlencode({'check': check.name})}"
