"""App passwords of task apps: made, shown once, switched off."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from calendars.dav import passwords
from calendars.dav.forms import PasswordForm
from calendars.dav.models import AppPassword
from calendars.dav.places import ROOT
from farm.errors import NotFound
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """List the app passwords a member may see, and make a new one."""
    form = PasswordForm(request.POST if request.method == "POST" else None, visit=request.visit)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            made, secret = passwords.make(request.visit.by, **form.values())
        if form.is_valid():
            # The secret is in this one answer and nowhere else, so there is no redirect.
            context = {"made": made, "secret": secret, "user_name": passwords.user_name(made.member)}
            context |= {"address": f"{settings.ADDRESS}{ROOT}", "open": settings.ADDRESS.startswith("http:")}
            return render(request, "web/task_apps/made.html", context)
    seen = list(passwords.seen_by(request.visit.member))
    context = {
        "form": form,
        "live": [one for one in seen if one.revoked_at is None and one.member.left_on is None],
        "off": [one for one in seen if one.revoked_at is not None or one.member.left_on is not None],
    }
    return render(request, "web/task_apps/list.html", context)


@require_http_methods(["GET", "POST"])
@farm_page()
def off(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then switch an app password off."""
    visit = request.visit
    found = passwords.seen_by(visit.member).filter(pk=pk).first()
    if found is None:
        raise NotFound(
            _("There is no such %(thing)s on this farm.") % {"thing": AppPassword._meta.verbose_name}
        )
    form, done = ask_first(request, lambda: passwords.revoke(visit.by, password_id=pk))
    if done:
        messages.success(request, _("“%(label)s” is switched off.") % {"label": found.label})
        return redirect("dav-passwords")
    return render(request, "web/task_apps/off.html", {"form": form, "password": found})
