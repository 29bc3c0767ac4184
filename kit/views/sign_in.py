"""Signing in and out, and going to another of one's depots."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

sign_in = LoginView.as_view(template_name="registration/login.html")
sign_out = LogoutView.as_view()


@require_POST
@login_required
def switch_depot(request: HttpRequest) -> HttpResponse:
    """Sit down at another depot at which one has a role; nobody gets to a depot by naming it."""
    code = request.POST.get("depot", "")
    chosen = next((depot for depot in request.desk.depots if depot.code == code), None)
    if chosen is None:
        raise PermissionDenied(_("You have no role at that depot. Ask its compliance lead for one."))
    request.desk.choose(chosen.pk)
    messages.info(request, _("You are at %(depot)s now.") % {"depot": chosen})
    onward = request.POST.get("next", "")
    allowed = url_has_allowed_host_and_scheme(onward, {request.get_host()}, require_https=request.is_secure())
    return redirect(onward if allowed else "today")
