"""What a person can do with one item: each act has a page that asks what it needs, and does it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.item import ChangeForm, names_of_places
from kit.forms.item_acts import BindForm, ItemForm, PlainForm, SendForm, StockForm, WhyForm
from kit.models import Custody, Depot, Item, State
from kit.stores import (
    Act,
    NotAllowed,
    acting,
    arrive,
    bind_set,
    count_stock,
    find_again,
    fresh,
    lose,
    mates_of,
    place_named,
    quarantine,
    record_details,
    send,
    unbind_set,
    withdraw,
)
from kit.tables.marks import mark_of
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must

Form = ItemForm | ChangeForm


@dataclass(frozen=True)
class ItemAct:
    """An act: who may (see kit.roles), when it is offered, what it asks, what it does, and its words."""

    name: str
    action: str
    icon: str
    label: Any
    done: Any
    offered: Callable[[Item], bool]
    do: Callable[[Act, Item, Any], object]
    form: Callable[..., Form] = WhyForm
    hint: Any = ""
    confirm: Any = ""
    danger: bool = False
    at: Callable[[Item], Depot] = lambda item: item.depot


def _change(act: Act, item: Item, form: ChangeForm) -> object:
    altered = form.altered()
    item = fresh(item)
    if "place" in altered:
        altered["place"] = place_named(act, item.depot, altered["place"]) if altered["place"] else None
    return record_details(act, item, altered, why=form.cleaned_data["why"])


def _bind(act: Act, item: Item, form: BindForm) -> object:
    asked = form.cleaned_data
    return bind_set(act, asked["name"], [item, *asked["tags"]], asked["why"])


def _may_be_bound(item: Item) -> bool:
    in_use = item.state in (State.AVAILABLE, State.QUARANTINED)
    return not item.counted and in_use and item.custody == Custody.STORE


def _destination(item: Item) -> Depot:
    return item.transit_to or item.depot


ACTS = [
    ItemAct(
        "set-aside",
        "quarantine",
        "quarantine",
        gettext_lazy("Set aside"),
        gettext_lazy("%(tag)s is set aside. Tie a defect tag to it."),
        offered=lambda item: item.state == State.AVAILABLE,
        do=lambda act, item, form: quarantine(act, item, form.cleaned_data["why"]),
        hint=gettext_lazy("It goes to quarantine at once, and every job that it is promised to is told."),
    ),
    ItemAct(
        "found-again",
        "quarantine",
        "search",
        gettext_lazy("Found again"),
        gettext_lazy("%(tag)s is back in the book, in quarantine until it is released."),
        offered=lambda item: item.state == State.LOST and item.custody != Custody.IN_TRANSIT,
        do=lambda act, item, form: find_again(act, item, form.cleaned_data["why"]),
        hint=gettext_lazy(
            "Nobody knows where it has been, so it goes to quarantine. Say where it turned up."
        ),
    ),
    ItemAct(
        "take-in",
        "transfer",
        "bring-in",
        gettext_lazy("Take in from the other depot"),
        gettext_lazy("%(tag)s has arrived."),
        offered=lambda item: item.custody == Custody.IN_TRANSIT,
        do=lambda act, item, form: arrive(act, item),
        form=PlainForm,
        hint=gettext_lazy("You sign that it is here. Whoever sent it cannot sign for its arrival."),
        at=_destination,
    ),
    ItemAct(
        "send",
        "transfer",
        "transfer",
        gettext_lazy("Send to another depot"),
        gettext_lazy("%(tag)s is on its way."),
        offered=lambda item: (
            item.state == State.AVAILABLE and item.custody == Custody.STORE and not item.counted
        ),
        do=lambda act, item, form: send(act, item, form.cleaned_data["to"], form.cleaned_data["arrives_on"]),
        form=SendForm,
        hint=gettext_lazy("You sign that it leaves; somebody else signs there that it has arrived."),
    ),
    ItemAct(
        "count",
        "change item",
        "tick",
        gettext_lazy("Count the lot"),
        gettext_lazy("The count of %(tag)s is recorded."),
        offered=lambda item: item.counted and item.state != State.WITHDRAWN,
        do=lambda act, item, form: count_stock(
            act, fresh(item), form.cleaned_data["quantity"], form.cleaned_data["why"]
        ),
        form=StockForm,
        hint=gettext_lazy("How many lie in the store now; what is out on jobs is not counted."),
    ),
    ItemAct(
        "change",
        "change item",
        "settings",
        gettext_lazy("Change details"),
        gettext_lazy("The details of %(tag)s are recorded."),
        offered=lambda item: item.state != State.WITHDRAWN,
        do=_change,
        form=ChangeForm,
        hint=gettext_lazy("What stood here before stays in the ledger."),
    ),
    ItemAct(
        "bind",
        "transfer",
        "add",
        gettext_lazy("Make up a set"),
        gettext_lazy("%(tag)s and what was scanned with it are a set now."),
        offered=lambda item: _may_be_bound(item) and not item.set_name,
        do=_bind,
        form=BindForm,
        hint=gettext_lazy("Pieces of a set go out together or not at all, and to another depot together."),
    ),
    ItemAct(
        "bind-more",
        "transfer",
        "add",
        gettext_lazy("Add to its set"),
        gettext_lazy("What was scanned is of the set of %(tag)s now."),
        offered=lambda item: _may_be_bound(item) and bool(item.set_name),
        do=_bind,
        form=BindForm,
        hint=gettext_lazy("Its pieces are listed already: scan the further ones below them."),
    ),
    ItemAct(
        "leave-set",
        "transfer",
        "back",
        gettext_lazy("Take it out of its set"),
        gettext_lazy("%(tag)s is of no set any more; the others stay together."),
        offered=lambda item: len(mates_of(item)) > 1,
        do=lambda act, item, form: unbind_set(act, [item], form.cleaned_data["why"]),
    ),
    ItemAct(
        "part-set",
        "transfer",
        "swap",
        gettext_lazy("Take its set apart"),
        gettext_lazy("The set of %(tag)s is taken apart: each of its pieces goes out for itself."),
        offered=lambda item: bool(item.set_name),
        do=lambda act, item, form: unbind_set(act, [item, *mates_of(item)], form.cleaned_data["why"]),
    ),
    ItemAct(
        "lost",
        "quarantine",
        "help",
        gettext_lazy("Note as lost"),
        gettext_lazy("%(tag)s is noted as lost."),
        offered=lambda item: item.state in (State.AVAILABLE, State.QUARANTINED),
        do=lambda act, item, form: lose(act, item, form.cleaned_data["why"]),
        hint=gettext_lazy("Say where it was seen last. If it turns up, it goes to quarantine first."),
        danger=True,
    ),
    ItemAct(
        "withdraw",
        "withdraw",
        "cross",
        gettext_lazy("Withdraw for good"),
        gettext_lazy("%(tag)s is withdrawn."),
        offered=lambda item: item.state != State.WITHDRAWN and item.custody == Custody.STORE,
        do=lambda act, item, form: withdraw(act, item, form.cleaned_data["why"]),
        hint=gettext_lazy(
            "For good: it does not come back, and its tag is never used again. Give the cause."
        ),
        confirm=gettext_lazy("Withdraw %(tag)s for good?"),
        danger=True,
    ),
]
BY_NAME = {act.name: act for act in ACTS}


def open_acts(request: HttpRequest, item: Item) -> list[ItemAct]:
    """The acts to offer: those that make sense now and that the person may do at the item's depot."""
    desk = request.desk
    return [act for act in ACTS if act.offered(item) and desk.may(act.action, act.at(item))]


@at_desk()
def item_act(request: HttpRequest, name: str, tag: str) -> HttpResponse:
    """Ask what the act needs; do it when it is sent. A refusal keeps what was typed."""
    if name not in BY_NAME:
        raise Http404(name)
    chosen = BY_NAME[name]
    item = item_in_sight(request, tag)
    must(request, chosen.action, chosen.at(item))
    form = chosen.form(request.POST if request.method == "POST" else None, item=item)
    if request.method == "POST" and form.is_valid():
        before = broken_now()
        try:
            with acting(request.desk.who("item screen")) as act:
                chosen.do(act, item, form)
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        except IntegrityError:
            form.add_error(
                None, _("Somebody else has just changed this item. Look at it again, then send this.")
            )
        else:
            messages.success(request, chosen.done % {"tag": item.tag})
            say_what_broke(request, before)
            return redirect("item", item.tag)
    return render(
        request,
        "item/act.html",
        {
            "act": chosen,
            "confirm": chosen.confirm % {"tag": item.tag} if chosen.confirm else "",
            "item": item,
            "mark": mark_of(item, request.desk.today),
            "form": form,
            "places": names_of_places([item.depot]) if chosen.form is ChangeForm else [],
        },
    )
