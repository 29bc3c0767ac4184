"""A phone that had no answer sends its entries again, from several windows at once: the same numbers, in any order."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kit.models import Deed, LedgerEntry, Membership, Role, VanEntry
from kit.stores import acting, issue_piece, reserve
from tests.kit.stores.race_depot import SETTER, afterwards, depot, job, one_piece, piece

PHONE = "phone"
HOST = "localhost"


def set_up(round_number: int) -> dict[str, Any]:
    """One piece out on a job; an entry of it and one that nobody can take in."""
    given = one_piece(round_number, jobs=1)
    [reference] = given["jobs"]
    user, _ = User.objects.get_or_create(username=PHONE)
    with acting(SETTER) as deed:
        at = depot(given["depot"])
        deed.create(Membership(user=user, depot=at, role=Role.CREW))
        deed.tell(Deed.APPOINTED, [at], note="for the race")
        reserve(deed, job(reference))
        issue_piece(deed, job(reference), piece(given["tag"]))
    signed_in = Client()
    signed_in.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    now = timezone.now()
    said = {"job": reference, "by": PHONE, "spare": "", "said_at": (now - timedelta(minutes=1)).isoformat()}
    what = ("seen", "passed", "failed")[round_number % 3]
    entries = [
        {**said, "uid": str(uuid4()), "what": what, "code": given["tag"], "note": "as found"},
        {**said, "uid": str(uuid4()), "what": "seen", "code": f"NOBODY-{round_number}", "note": ""},
    ]
    session = signed_in.cookies[settings.SESSION_COOKIE_NAME].value
    return {**given, "entries": entries, "now": now.isoformat(), "session": session}


def act(process: int, given: dict[str, Any]) -> dict[str, Any]:
    window = Client()
    window.cookies[settings.SESSION_COOKIE_NAME] = given["session"]
    entries = given["entries"][:: -1 if process % 2 else 1]
    body = json.dumps({"device_now": given["now"], "entries": entries})
    answer = window.post(
        reverse("van_entries"), body, content_type="application/json", headers={"host": HOST}, secure=True
    )
    if answer.status_code != 200:
        return {"fault": answer.status_code, "text": answer.content.decode()[:500]}
    return {one["uid"]: one for one in answer.json()["entries"]}


def look(given: dict[str, Any]) -> dict[str, Any]:
    told = [body for body in LedgerEntry.objects.filter(deed=Deed.VAN).values_list("body", flat=True)]
    return {
        **afterwards(given),
        "rows": [VanEntry.objects.filter(uid=entry["uid"]).count() for entry in given["entries"]],
        "told": [sum(entry["uid"] in body for body in told) for entry in given["entries"]],
    }
