"""The hold test bench: up to five bags side by side, their clocks kept by the server, end pressures judged at once."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from inspections.actions.hold_runs import MOST_RUNS, break_off, end_run, seconds_left, start_run
from inspections.actions.hold_tests import NotEvidence
from inspections.bench import Gauges, gauges_at, hold_check, is_gauge, usual_start
from inspections.forms.readings import BreakOffForm, EndForm, SettingForm, StartForm
from inspections.judging.units import UNITS
from inspections.models import Check, HoldRun, Inspection
from inspections.record_values import figure, shown
from kit.models import Item
from kit.sentences import said as in_words
from kit.stores import NotAllowed, acting
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk, told
from kit.views.found import must, scanned

SOURCE = "hold test bench"
REMEMBERED = "hold_bench"
Forms = dict[int, EndForm]


@at_desk("inspect")
def hold_bench(request: HttpRequest) -> HttpResponse:
    """?code= is what was scanned: a bag to start or to end, or the gauge. ?done= is the record just made."""
    if "code" in request.GET:
        return _answer_scan(request, request.GET["code"])
    return _page(request)


def _answer_scan(request: HttpRequest, code: str) -> HttpResponse:
    found = scanned(request, code, jobs=False)
    if found.item is None:
        return _page(request, refused=found.refusal, code=found.code)
    item = found.item
    must(request, "inspect", item.depot)
    check = hold_check(item, request.GET.get("check", ""))
    if check is None and is_gauge(item):
        _remember(request, gauge=item.pk)
        messages.success(request, _("Pressures are read on gauge %(tag)s.") % {"tag": item.tag})
        return redirect("hold_bench")
    if check is None:
        return _page(
            request,
            refused=_("No hold test is asked of %(tag)s, a %(kind)s.")
            % {"tag": item.tag, "kind": in_words(item.kind.name)},
            code=found.code,
            way=(reverse("record", args=[item.tag]), _("Record another check of it")),
        )
    if HoldRun.objects.filter(item=item).exists():
        return _page(request, focus=item.pk)
    return _page(request, bag=item, check=check)


def _page(request: HttpRequest, **more: Any) -> HttpResponse:
    """The whole bench. `more`: bag and check to be started with their form, focus on a running item, a refusal."""
    now = timezone.now()
    gauges = gauges_at([depot.pk for depot in request.desk.depots])
    gauge = _gauge(request, gauges)
    bag, check = more.get("bag"), more.get("check")
    unit = _unit(request, check)
    forms: Forms = more.get("forms", {})
    runs = HoldRun.objects.filter(depot__in=request.desk.depots).select_related(
        "item__kind", "check_run", "gauge"
    )
    me = request.user.get_username()
    slots = [
        {
            "run": run,
            "left": seconds_left(run, now),
            "asked": figure(run.check_run.hold_minutes) if run.check_run.hold_minutes else "",
            "form": forms.get(run.pk) or EndForm(auto_id=f"id_{run.pk}_%s", label_suffix=""),
            "break_off": more.get("broken", {}).get(run.pk) or BreakOffForm(auto_id=f"id_{run.pk}_%s"),
            "focus": run.item_id == more.get("focus"),
            "start": figure(run.start_pressure),
        }
        for run in sorted(runs, key=lambda run: (run.started_by != me, run.started_at))
    ]
    context = {
        **more,
        "slots": slots,
        "most": MOST_RUNS,
        "unit": unit,
        "gauge": gauge,
        "setting": more.get("setting")
        or SettingForm(gauges=gauges.items, initial={"gauge": gauge, "unit": unit}, auto_id="id_setting_%s"),
        "done": _done(request),
        "start_form": more.get("start_form")
        or (StartForm(initial=_usual(request, check, unit), auto_id="id_%s") if bag else None),
        "no_gauges": not gauges.items,
    }
    context["pressure_first"] = _give_focus(context)
    return render(request, "bench/hold.html", context)


def _give_focus(context: dict[str, Any]) -> bool:
    """Put the focus on the pressure that is to be read next, if there is one; else it is the scan box's."""
    if context["start_form"] and context["gauge"]:
        field = context["start_form"].fields["start_pressure"]
    else:
        waiting = [slot for slot in context["slots"] if slot["focus"] or slot["form"].errors]
        if not waiting:
            return False
        field = waiting[0]["form"].fields["end_pressure"]
    field.widget.attrs.update({"autofocus": True, "data-first": True})
    return True


def _done(request: HttpRequest) -> dict[str, Any] | None:
    number = request.GET.get("done", "")
    made = Inspection.objects.filter(pk=number).first() if number.isdecimal() else None
    if made is None or not any(depot.pk == made.item.depot_id for depot in request.desk.depots):
        return None
    return shown(made)


def _gauge(request: HttpRequest, gauges: Gauges) -> Item | None:
    """The gauge remembered, or the only one there is."""
    only = gauges.items[0] if len(gauges.items) == 1 else None
    return gauges.named(request.session.get(REMEMBERED, {}).get("gauge")) or only


def _unit(request: HttpRequest, check: Check | None) -> str:
    kept = request.session.get(REMEMBERED, {}).get("unit")
    return kept if kept in UNITS else (check.unit if check and check.unit in UNITS else "bar")


def _usual(request: HttpRequest, check: Check | None, unit: Any) -> dict[str, Any]:
    """The pressure that this check was started with last here, else the most that it allows."""
    if check is None:
        return {}
    last = request.session.get(REMEMBERED, {}).get("starts", {}).get(f"{check.pk} {unit}")
    most = usual_start(check, unit)
    return {"start_pressure": last or (f"{most:f}" if most is not None else ""), "check": check.name}


def _remember(request: HttpRequest, **values: Any) -> None:
    request.session[REMEMBERED] = {**request.session.get(REMEMBERED, {}), **values}


@require_POST
@at_desk("inspect")
def hold_setting(request: HttpRequest) -> HttpResponse:
    """Gauge and unit, kept until another is chosen; `code` is the bag that was scanned before there was one."""
    gauges = gauges_at([depot.pk for depot in request.desk.depots])
    form = SettingForm(request.POST, gauges=gauges.items, auto_id="id_setting_%s")
    if not form.is_valid():
        return _page(request, setting=form)
    _remember(request, gauge=form.cleaned_data["gauge"].pk, unit=form.cleaned_data["unit"])
    return _to(code=request.POST.get("code", ""))


def _to(**query: Any) -> HttpResponse:
    asked = {name: value for name, value in query.items() if value}
    return redirect(reverse("hold_bench") + (f"?{urlencode(asked)}" if asked else ""))


def _is_a_tag(request: HttpRequest, name: str) -> bool:
    """Whether a scanner put a label into the field of a pressure: the next bag, scanned before this one was entered."""
    code = request.POST.get(name, "").strip()
    return bool(code) and scanned(request, code, jobs=False).item is not None


@require_POST
@at_desk("inspect")
def hold_start(request: HttpRequest, tag: str) -> HttpResponse:
    """Start the clock of a bag."""
    found = scanned(request, tag, jobs=False).item
    if found is None:
        raise Http404(tag)
    must(request, "inspect", found.depot)
    if _is_a_tag(request, "start_pressure"):
        return _to(code=request.POST["start_pressure"])
    check = hold_check(found, request.POST.get("check", ""))
    gauge = _gauge(request, gauges_at([depot.pk for depot in request.desk.depots]))
    form = StartForm(request.POST, auto_id="id_%s")
    if check is None or gauge is None:
        return _to(code=tag)
    if form.is_valid():
        unit: Any = _unit(request, check)
        start, start_c = form.cleaned_data["start_pressure"], form.cleaned_data["start_c"]
        try:
            with acting(request.desk.who(SOURCE)) as act:
                start_run(act, found, check, gauge, start, unit, start_c)
        except NotEvidence as refusal:
            put_at_fields(form, refusal)
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            starts = request.session.get(REMEMBERED, {}).get("starts", {})
            _remember(request, unit=unit, starts={**starts, f"{check.pk} {unit}": f"{start.normalize():f}"})
            return _to()
    return _page(request, bag=found, check=check, start_form=form)


def put_at_fields(form: Any, refusal: NotEvidence) -> None:
    """Each refusal at its own field; what the form does not ask for, above all."""
    for one in refusal.refusals:
        form.add_error(one.field if one.field in form.fields else None, one.text)


def _run(request: HttpRequest, number: int) -> HoldRun | None:
    rows = HoldRun.objects.select_related("item__kind", "item__depot", "check_run__kind", "gauge")
    run = rows.filter(pk=number, depot__in=request.desk.depots).first()
    if run is not None:
        must(request, "inspect", run.item.depot)
    return run


def _gone(request: HttpRequest) -> HttpResponse:
    messages.info(request, _("That test has been ended already, here or on another device."))
    return _to()


@require_POST
@at_desk("inspect")
def hold_end(request: HttpRequest, number: int) -> HttpResponse:
    """The end pressure: judged and recorded, or refused with the clock running on."""
    run = _run(request, number)
    if run is None:
        return _gone(request)
    if _is_a_tag(request, "end_pressure"):
        return _to(code=request.POST["end_pressure"])
    form = EndForm(request.POST, auto_id=f"id_{run.pk}_%s", label_suffix="")
    if form.is_valid():
        before = broken_now()
        asked = form.cleaned_data
        try:
            with acting(request.desk.who(SOURCE)) as act:
                made = end_run(act, run, asked["end_pressure"], asked["end_c"], asked["note"])
        except NotEvidence as refusal:
            put_at_fields(form, refusal)
        except NotAllowed as refusal:
            form.add_error("end_pressure", str(refusal))
        else:
            say_what_broke(request, before)
            return _to(done=made.pk)
    return _page(request, forms={run.pk: form})


@require_POST
@at_desk("inspect")
def hold_break_off(request: HttpRequest, number: int) -> HttpResponse:
    run = _run(request, number)
    if run is None:
        return _gone(request)
    form = BreakOffForm(request.POST, auto_id=f"id_{run.pk}_%s")
    if form.is_valid():
        try:
            with acting(request.desk.who(SOURCE)) as act:
                break_off(act, run, form.cleaned_data["why"])
        except NotAllowed as refusal:
            return told(request, refusal, "hold_bench")
        messages.success(request, _("The hold test of %(tag)s is broken off.") % {"tag": run.item.tag})
        return _to()
    return _page(request, broken={run.pk: form})
