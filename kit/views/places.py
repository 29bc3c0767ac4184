"""Places of a store: the walk round them, set up, renamed and withdrawn, with a look at what that moves."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.forms.kind import WalkForm
from kit.forms.place import NewPlaceForm, RenamePlaceForm, WithdrawPlaceForm
from kit.models import OPEN, Item, Job, Place, State
from kit.stores import NotAllowed, acting
from kit.stores.foresee import rehearse
from kit.stores.places import lying_in, rename_place, set_up_place, withdraw_place
from kit.stores.walk import set_walk
from kit.views.desk import at_desk
from kit.views.found import must

SCREEN = "places screen"


@at_desk()
def places(request: HttpRequest) -> HttpResponse:
    """The places of the store where the person sits, in the order in which a van is loaded."""
    depot = request.desk.depot
    listed = list(Place.objects.filter(depot=depot).order_by("walk", "name"))
    may_set = request.desk.may("change item")
    if request.method == "POST":
        must(request, "change item", depot)
    form = WalkForm(request.POST if request.method == "POST" else None, places=listed)
    if request.method == "POST" and form.is_valid():
        try:
            with acting(request.desk.who(SCREEN)) as act:
                changed = set_walk(act, depot, form.walk())
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            done = (
                _("The walk round the store is recorded.")
                if changed
                else _("Nothing differs from what was recorded.")
            )
            messages.success(request, done)
            return redirect("places")
    lying = Count("items", filter=~Q(items__state__in=[State.WITHDRAWN, State.LOST]))
    rows = Place.objects.filter(depot=depot).annotate(pieces=lying).order_by("walk", "name")
    withdrawn = Place.ever.filter(depot=depot, withdrawn=True)
    context = {"form": form, "places": rows, "may_set": may_set, "depot": depot, "withdrawn": withdrawn}
    return render(request, "kinds/places.html", context)


@at_desk("change item")
def new_place(request: HttpRequest) -> HttpResponse:
    form = NewPlaceForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            with acting(request.desk.who(SCREEN)) as act:
                made = set_up_place(act, request.desk.depot, form.cleaned_data["name"])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("%(place)s is set up, last in the walk.") % {"place": made})
            return redirect("places")
    return render(request, "kinds/new_place.html", {"form": form, "depot": request.desk.depot})


@at_desk("change item")
def rename(request: HttpRequest, number: int) -> HttpResponse:
    """Another name for a place: shown with what lies there and whose load lists name it, then recorded."""
    place = get_object_or_404(Place.objects, pk=number, depot=request.desk.depot)
    form = RenamePlaceForm(request.POST if request.method == "POST" else None, initial={"name": place.name})

    def change(act: Any) -> list[Item]:
        data = form.cleaned_data
        rename_place(act, Place.objects.get(pk=place.pk), data["name"], data["why"])
        return list(lying_in(place))

    return _change(request, place, form, change, _("Rename %(place)s") % {"place": place}, _("Rename it"))


@at_desk("change item")
def withdraw(request: HttpRequest, number: int) -> HttpResponse:
    """A place goes out of use: what lies in it goes to another, shown piece by piece, or it stays in use."""
    place = get_object_or_404(Place.objects, pk=number, depot=request.desk.depot)
    form = WithdrawPlaceForm(request.POST if request.method == "POST" else None, place=place)

    def change(act: Any) -> list[Item]:
        data = form.cleaned_data
        return withdraw_place(act, Place.objects.get(pk=place.pk), data["why"], data["to"])

    return _change(request, place, form, change, _("Withdraw %(place)s") % {"place": place}, _("Withdraw it"))


def _change(
    request: HttpRequest, place: Place, form: forms.Form, change: Any, title: str, press: str
) -> HttpResponse:
    """Look at what a change of a place brings; made as it was shown, or refused if other pieces lie there by now."""
    pieces: Sequence[Item] | None = None
    if request.method == "POST" and form.is_valid():
        who = request.desk.who(SCREEN)
        try:
            if "seen" not in request.POST:
                pieces = rehearse(who, change)
            else:
                with acting(who) as act:
                    pieces = change(act)
                    if _mark(pieces, form) != request.POST["seen"]:
                        raise NotAllowed(
                            "Other pieces lie there by now than were shown, or something else was typed: nothing is "
                            "recorded. Look at it again, then record it."
                        )
                messages.success(request, _done(pieces, form))
                return redirect("places")
        except NotAllowed as refusal:
            pieces = None
            form.add_error(None, str(refusal))
    context: dict[str, Any] = {"form": form, "place": place, "title": title, "press": press, "pieces": pieces}
    if pieces is not None:
        open_here = Q(reservations__item__in=pieces, reservations__standing__in=OPEN)
        context["seen"] = _mark(pieces, form)
        context["jobs"] = Job.objects.filter(open_here).distinct().order_by("load_on", "reference")
        context["mine"] = {depot.pk for depot in request.desk.depots}
    return render(request, "kinds/change_place.html", context)


def _done(pieces: Sequence[Item], form: forms.Form) -> str:
    if "to" not in form.cleaned_data:
        return _("The place is called %(name)s from now on.") % {"name": form.cleaned_data["name"]}
    n = len(pieces)
    if not n:
        return _("The place is withdrawn.")
    told = ngettext(
        "The place is withdrawn; %(n)s piece goes to %(to)s.",
        "The place is withdrawn; %(n)s pieces go to %(to)s.",
        n,
    )
    return told % {"n": n, "to": form.cleaned_data["to"]}


def _mark(pieces: Sequence[Item], form: forms.Form) -> str:
    """A mark (SHA-256) of what lies there and of what was asked for, the reason aside."""
    asked = sorted((name, str(value)) for name, value in form.cleaned_data.items() if name != "why")
    return sha256(repr((sorted(item.tag for item in pieces), asked)).encode()).hexdigest()
