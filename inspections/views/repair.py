"""A repair of an item is noted, or a check of it asked for before its date."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.actions.repair import order_retest, repair
from inspections.forms.repair import RepairForm, RetestForm
from inspections.models import Due
from kit.models import Item
from kit.stores import Act, NotAllowed, acting
from kit.tables.marks import mark_of
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must

SOURCE = "item screen"


@at_desk()
def note_repair(request: HttpRequest, tag: str) -> HttpResponse:
    item = item_in_sight(request, tag)
    must(request, "repair", item.depot)
    form = RepairForm(request.POST if request.method == "POST" else None)
    words = {
        "label": _("Note a repair"),
        "hint": _("Whatever its checks ask for after a repair is due at once, and it stays in until then."),
        "done": _("The repair of %(tag)s is noted.") % {"tag": item.tag},
    }
    return _page(request, item, form, words, lambda act: repair(act, item, form.cleaned_data["what"]))


@at_desk()
def ask_retest(request: HttpRequest, tag: str) -> HttpResponse:
    item = item_in_sight(request, tag)
    must(request, "order re-test", item.depot)
    form = RetestForm(request.POST if request.method == "POST" else None, item=item)
    words = {
        "label": _("Ask for a re-test"),
        "hint": _(
            "The check is due at once. If the item does not go out without it, it stays in until it is done."
        ),
        "done": _("The re-test of %(tag)s is asked for.") % {"tag": item.tag},
    }
    return _page(
        request,
        item,
        form,
        words,
        lambda act: order_retest(act, item, form.cleaned_data["check_called"], form.cleaned_data["why"]),
    )


def _page(
    request: HttpRequest, item: Item, form: forms.Form, words: dict[str, Any], do: Callable[[Act], object]
) -> HttpResponse:
    """The page that asks, and after it the item with what waits for its check."""
    if form.is_bound and form.is_valid():
        before = broken_now()
        try:
            with acting(request.desk.who(SOURCE)) as act:
                do(act)
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            waiting = Due.objects.filter(item=item).exclude(note="").count()
            more = ngettext("%(n)s check waits to be done.", "%(n)s checks wait to be done.", waiting) % {
                "n": waiting
            }
            messages.success(request, f"{words['done']} {more}" if waiting else words["done"])
            say_what_broke(request, before)
            return redirect("item", item.tag)
    mark = mark_of(item, request.desk.today)
    return render(request, "item/act.html", {"item": item, "form": form, "act": words, "mark": mark})
