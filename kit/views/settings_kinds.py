"""Kinds of item and their settings, and labels of makers."""

from __future__ import annotations

from copy import copy
from decimal import Decimal

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from kit.forms.kind import KindForm, MakerLabelForm, NewKindForm
from kit.models import Kind, ShortDate, State
from kit.papers.wording import millimetres, typed_millimetres
from kit.sentences import said as in_words
from kit.stores import NotAllowed, acting, set_kind, set_maker_label
from kit.stores.settings_foreseen import ForeseenKind, foresee_kind, set_kind_as_seen
from kit.tables.kinds import KindTable
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import must

SCREEN = "settings screen"


@at_desk()
def kinds(request: HttpRequest) -> HttpResponse:
    in_use = Count("items", filter=~Q(items__state__in=[State.WITHDRAWN, State.LOST]))
    table = KindTable(Kind.objects.annotate(in_use=in_use))
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "kinds/page.html", {"table": table, "may_set": request.desk.may("set checks")})


@at_desk()
def kind(request: HttpRequest, number: int) -> HttpResponse:
    """One kind: what is set of it; the compliance lead changes it here."""
    shown = get_object_or_404(Kind, pk=number)
    may_set = request.desk.may("set checks")
    sent = request.POST if request.method == "POST" else None
    if sent is not None:
        must(request, "set checks", request.desk.depot)
    of_label = sent is not None and "maker" in sent
    form = KindForm(
        None if of_label else sent,
        initial={name: _as_typed(getattr(shown, name)) for name in KindForm.base_fields},
    )
    label = MakerLabelForm(sent if of_label else None, auto_id="label_%s")
    foreseen = None
    if of_label:
        if _set_label(request, shown, label):
            return redirect("kind", shown.pk)
    elif sent is not None and form.is_valid():
        if "seen" in sent and _set(request, shown, form, sent["seen"]):
            return redirect("kind", shown.pk)
        foreseen = _looked(request, shown, form)
    labels = shown.maker_labels.order_by("maker")
    facts = [(field.label, _in_words(shown, field.name)) for field in form]
    context = {
        "kind": shown,
        "form": form,
        "label": label,
        "labels": labels,
        "facts": facts,
        "may_set": may_set,
        "foreseen": foreseen,
        "mine": {depot.pk for depot in request.desk.depots},
        "differs": _differs(shown, form, foreseen),
    }
    return render(request, "kinds/kind.html", context)


def _looked(request: HttpRequest, kind: Kind, form: KindForm) -> ForeseenKind | None:
    """What the settings as typed would bring; None, with the refusal in the form, if they would be refused."""
    try:
        return foresee_kind(request.desk.who(SCREEN), kind, form.settings())
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return None


def _differs(kind: Kind, form: KindForm, foreseen: ForeseenKind | None) -> list[tuple[str, object, object]]:
    """Each setting that would be another: its label, as it is, as it would be."""
    if foreseen is None:
        return []
    then = copy(kind)
    for name, _now, value in foreseen.changed:
        setattr(then, name, value)
    return [
        (form.fields[name].label, _in_words(kind, name), _in_words(then, name))
        for name, _now, _value in foreseen.changed
    ]


def _as_typed(value: object) -> object:
    """A length without the zeros that its column adds."""
    return typed_millimetres(value) if isinstance(value, Decimal) else value


def _in_words(kind: Kind, name: str) -> object:
    """A setting as those read it who may not change it."""
    value = getattr(kind, name)
    if name == "short_date":
        return _(kind.get_short_date_display())
    if name == "sized_by":
        return _(kind.get_sized_by_display())
    if isinstance(value, Decimal):
        return millimetres(value)
    return (_("yes") if value else _("no")) if isinstance(value, bool) else value


def _set(request: HttpRequest, kind: Kind, form: KindForm, seen: str) -> bool:
    """Record the settings as they were looked at; False, with the refusal in the form, if that is not done."""
    before = broken_now()
    try:
        with acting(request.desk.who(SCREEN)) as act:
            set_kind_as_seen(act, kind, form.settings(), seen)
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, _("The settings of %(kind)s are recorded.") % {"kind": in_words(kind.name)})
    say_what_broke(request, before)
    return True


def _set_label(request: HttpRequest, kind: Kind, form: MakerLabelForm) -> bool:
    if not form.is_valid():
        return False
    data = form.cleaned_data
    with acting(request.desk.who(SCREEN)) as act:
        set_maker_label(act, kind, data["maker"], ShortDate(data["short_date"]))
    messages.success(
        request,
        _("Labels of %(maker)s on %(kind)s are recorded.")
        % {"maker": data["maker"], "kind": in_words(kind.name)},
    )
    return True


@at_desk("set checks")
def new_kind(request: HttpRequest) -> HttpResponse:
    usual = {"turn_round_days": 0, "margin_days": 0, "has_serial": True}
    form = NewKindForm(request.POST if request.method == "POST" else None, initial=usual)
    if request.method == "POST" and form.is_valid():
        try:
            with acting(request.desk.who(SCREEN)) as act:
                made = set_kind(act, form.cleaned_data["name"], **form.settings())
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The kind %(kind)s is set up. Set its checks next.") % {"kind": made})
            return redirect("kind", made.pk)
    return render(request, "kinds/new.html", {"form": form})
