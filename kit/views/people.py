"""People of a depot and their roles: listed, and changed with a look at what that brings before it applies."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.contrib.auth.tokens import default_token_generator
from django.contrib.auth.views import PasswordResetConfirmView
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse, reverse_lazy
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from kit.forms.people import GiveRoleForm, NewPersonForm, ReasonForm
from kit.models import LedgerEntry, Membership, Role
from kit.roles import ROLE_SAID, SAID, role_said, said_of
from kit.stores import Act, NotAllowed, Who, acting
from kit.stores.people import (
    ChangePeople,
    ForeseenPerson,
    add_person,
    change_as_seen,
    foresee_person,
    give_role,
    note_password_link,
    note_password_set,
    stand_down,
    take_role,
    take_up_again,
    who_may_appoint,
)
from kit.views.desk import at_desk
from kit.views.story import told

SCREEN = "people screen"
LATEST = 20


@at_desk()
def roles(request: HttpRequest) -> HttpResponse:
    """What each role may do, in words, who holds it at this depot, and whom to ask for one."""
    held = Membership.objects.filter(depot=request.desk.depot, user__is_active=True).select_related("user")
    people: dict[str, list[str]] = {role: [] for role in Role.values}
    for each in held.order_by("user__username"):
        people[each.role].append(_called(each.user))
    listed = [
        {"name": said, "may": said_of([role]), "people": people[role], "mine": role in request.desk.roles}
        for role, said in ROLE_SAID.items()
    ]
    ask = [_called(user) for user in who_may_appoint(request.desk.depot)]
    return render(request, "people/roles.html", {"listed": listed, "ask": ask})


def _called(user: User) -> str:
    return user.get_full_name() or user.get_username()


def _in_sight(request: HttpRequest) -> Any:
    """People who have or had a role at the current depot, and those without a role anywhere."""
    here = Membership.ever.filter(depot=request.desk.depot).values("user")
    return User.objects.filter(Q(pk__in=here) | ~Q(pk__in=Membership.objects.values("user")))


@at_desk("appoint")
def people(request: HttpRequest) -> HttpResponse:
    here = request.desk.depot
    users = list(_in_sight(request).order_by("-is_active", "username"))
    roles: dict[int, list[str]] = {user.pk: [] for user in users}
    elsewhere: dict[int, list[str]] = {user.pk: [] for user in users}
    for held in Membership.objects.filter(user__in=users).select_related("depot"):
        if held.depot_id == here.pk:
            roles[held.user_id].append(role_said(held.role))
        else:
            elsewhere[held.user_id].append(f"{role_said(held.role)} ({held.depot})")
    rows = [{"user": user, "roles": roles[user.pk], "elsewhere": elsewhere[user.pk]} for user in users]
    return render(request, "people/page.html", {"rows": rows, "depot": here})


@at_desk("appoint")
def person(request: HttpRequest, number: int) -> HttpResponse:
    """One person: their roles here and elsewhere, what they may do by them, and what the ledger tells of them."""
    user = get_object_or_404(_in_sight(request), pk=number)
    held = list(Membership.objects.filter(user=user).select_related("depot"))
    here = [each.role for each in held if each.depot_id == request.desk.depot.pk]
    about = f"user:{user.get_username()}"[:120]
    entries = LedgerEntry.objects.filter(mentions__about=about).prefetch_related("corrections")
    context = {
        "person": user,
        "called": _called(user),
        "here": [(role, role_said(role)) for role in here],
        "elsewhere": [
            (each.depot, role_said(each.role)) for each in held if each.depot != request.desk.depot
        ],
        "may": said_of(here),
        "self": user.pk == request.user.pk,
        "may_get_more": len(here) < len(Role.values),
        "entries": told(entries.order_by("-number")[:LATEST], about),
        "depot": request.desk.depot,
    }
    return render(request, "people/person.html", context)


@at_desk("appoint")
def new_person(request: HttpRequest) -> HttpResponse:
    """An account with a first role; a link to set its password is given out next."""
    depot = request.desk.depot
    form = NewPersonForm(request.POST if request.method == "POST" else None)

    def change(act: Act) -> User:
        data = form.cleaned_data
        names = {"first_name": data["first_name"], "last_name": data["last_name"]}
        return add_person(act, data["username"], depot, data["role"], data["why"], **names)

    title = _("Add a person at %(depot)s") % {"depot": depot}
    name = form.cleaned_data.get("username", "") if form.is_bound and form.is_valid() else ""
    made, foreseen = _step(request, form, name, change)
    if made is not None:
        said = _("%(person)s is added. Give them a link to set their password next.")
        messages.success(request, said % {"person": made.get_username()})
        return redirect("person", made.pk)
    return _changing(request, form, foreseen, title, _("Add the person"), reverse("people"))


def _giving(request: HttpRequest, user: User, form: Any) -> Callable[[Act], Any]:
    return lambda act: give_role(
        act, user, request.desk.depot, form.cleaned_data["role"], form.cleaned_data["why"]
    )


def _taking(request: HttpRequest, user: User, form: Any) -> Callable[[Act], Any]:
    role = request.GET.get("role", "")
    return lambda act: take_role(act, user, request.desk.depot, role, form.cleaned_data["why"])


def _closing(request: HttpRequest, user: User, form: Any) -> Callable[[Act], Any]:
    return lambda act: stand_down(act, user, form.cleaned_data["why"])


def _opening(request: HttpRequest, user: User, form: Any) -> Callable[[Act], Any]:
    return lambda act: take_up_again(act, user, form.cleaned_data["why"])


CHANGES = {"give": _giving, "take": _taking, "close": _closing, "open": _opening}


@at_desk("appoint")
def change_person(request: HttpRequest, number: int, do: str) -> HttpResponse:
    """Give or take away a role at the current depot, close the account or open it again."""
    user = get_object_or_404(_in_sight(request), pk=number)
    if do not in CHANGES:
        raise Http404(f"nothing called {do} is done to a person")
    if do == "take" and request.GET.get("role") not in Role.values:
        return redirect("person", user.pk)
    sent = request.POST if request.method == "POST" else None
    held = Membership.objects.filter(user=user, depot=request.desk.depot).values_list("role", flat=True)
    form: Any = GiveRoleForm(sent, held=list(held)) if do == "give" else ReasonForm(sent)
    make = CHANGES[do](request, user, form)

    def change(act: Act) -> User:
        make(act)
        return user

    made, foreseen = _step(request, form, user.get_username(), change)
    if made is not None:
        said = _("That is recorded. It holds from the next page that %(person)s opens.")
        messages.success(request, said % {"person": _called(user)})
        # Who gave up their own role may not be able to open the page of a person any more.
        return redirect("roles") if made.pk == request.user.pk else redirect("person", made.pk)
    title, press = _worded(do, user, request)
    return _changing(
        request,
        form,
        foreseen,
        title,
        press,
        reverse("person", args=[user.pk]),
        danger=do in ("take", "close"),
    )


def _worded(do: str, user: User, request: HttpRequest) -> tuple[str, str]:
    """The heading of such a change and the word on its button."""
    named = {"person": _called(user), "depot": request.desk.depot}
    if do == "give":
        return _("Give %(person)s a role at %(depot)s") % named, _("Give the role")
    if do == "close":
        return _("Close the account of %(person)s") % named, _("Close the account")
    if do == "open":
        return _("Open the account of %(person)s again") % named, _("Open it again")
    named["role"] = role_said(request.GET["role"])
    return _("%(person)s: no longer %(role)s at %(depot)s") % named, _("Take the role away")


def _step(
    request: HttpRequest, form: forms.Form, name: str, change: ChangePeople
) -> tuple[User | None, ForeseenPerson | None]:
    """The person if the change was made as it was looked at, else what it would bring (None where that is refused)."""
    if request.method != "POST" or not form.is_valid():
        return None, None
    who = request.desk.who(SCREEN)
    try:
        if "seen" in request.POST:
            with acting(who) as act:
                return change_as_seen(act, name, change, request.POST["seen"]), None
        return None, foresee_person(who, name, change)
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return None, None


def _changing(
    request: HttpRequest,
    form: forms.Form,
    foreseen: ForeseenPerson | None,
    title: str,
    press: str,
    back_url: str,
    danger: bool = False,
) -> HttpResponse:
    def said(pairs: Any) -> list[tuple[Any, list[str]]]:
        depots = dict.fromkeys(depot for depot, _what in pairs)
        return [(depot, [str(SAID[what]) for at, what in pairs if at == depot]) for depot in depots]

    context: dict[str, Any] = {"form": form, "foreseen": foreseen, "title": title, "press": press}
    context.update({"back_url": back_url, "danger": danger})
    if foreseen is not None:
        context.update({"gains": said(foreseen.gains), "loses": said(foreseen.loses)})
        context["left_without"] = [(depot, role_said(role)) for depot, role in foreseen.left_without]
    return render(request, "people/change.html", context)


@never_cache
@at_desk("appoint")
def password_link(request: HttpRequest, number: int) -> HttpResponse:
    """A link by which the person sets their password, shown this once; whoever has it can use it, once."""
    user = get_object_or_404(_in_sight(request), pk=number)
    form = ReasonForm(request.POST if request.method == "POST" else None)
    link = ""
    if request.method == "POST" and form.is_valid():
        try:
            with acting(request.desk.who(SCREEN)) as act:
                note_password_link(act, user, form.cleaned_data["why"])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            key = urlsafe_base64_encode(force_bytes(user.pk))
            address = reverse("set_password", args=[key, default_token_generator.make_token(user)])
            link = request.build_absolute_uri(address)
    return render(
        request, "people/link.html", {"person": user, "called": _called(user), "form": form, "link": link}
    )


class SetPassword(PasswordResetConfirmView):
    """The person sets their password; the token leaves the address before the form is shown."""

    template_name = "registration/set_password.html"
    success_url = reverse_lazy("login")

    def get_user(self, uidb64: str) -> Any:
        user = super().get_user(uidb64)
        return user if user is not None and user.is_active else None

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        with acting(Who(self.user.get_username(), "password screen")) as act:
            note_password_set(act, self.user)
        messages.success(self.request, _("Your password is set. Sign in with it."))
        return answer


set_password = SetPassword.as_view()
