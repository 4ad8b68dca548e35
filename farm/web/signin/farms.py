"""Starting a farm, choosing among several, and accepting an invitation to one."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth import login as sign_in
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from farm.errors import NotAllowed, NotFound
from farm.models import Farm, Login
from farm.models.history import Face
from farm.services import farms, logins, members
from farm.web import clock, zones
from farm.web.access import FARM_KEY, memberships, open_page
from farm.web.mishaps import shown_in
from farm.web.signin import limits
from farm.web.signin.forms import FirstFarmForm, FurtherFarmForm, NewLoginForm, said_wait
from farm.web.signin.views import caller, may_sign_up

BACKEND = "django.contrib.auth.backends.ModelBackend"


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "POST"])
@open_page
def start(request: HttpRequest) -> HttpResponse:
    """Start a farm: with a new login when nobody is signed in, else a further one."""
    known = isinstance(request.user, Login)
    if not known and not may_sign_up():
        raise NotAllowed(
            _("New farms are not started by strangers on this server. Ask for an invitation, or sign in.")
        )
    form = _start_form(request, known)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            farm = _further(request, form) if known else _first(request, form)
        if form.is_valid() and farm is not None:
            request.session[FARM_KEY] = farm.pk
            messages.success(request, _("%(farm)s is ready. Add your first brooder.") % {"farm": farm})
            return redirect("today")
    context = {"form": form, "zones": zones.suggested(), "known": known}
    return render(request, "web/signin/start.html", context)


@login_required
@require_http_methods(["GET", "POST"])
@open_page
def choose(request: HttpRequest) -> HttpResponse:
    """Choose which of the login's farms the pages show."""
    assert isinstance(request.user, Login)
    mine = memberships(request.user)
    if request.method == "POST":
        chosen = next((one for one in mine if str(one.farm_id) == request.POST.get("farm")), None)
        if chosen is None:
            raise NotFound(_("There is no such farm among yours."))
        request.session[FARM_KEY] = chosen.farm_id
        return redirect("today")
    return render(request, "web/signin/choose.html", {"mine": mine})


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest, secret: str) -> HttpResponse:
    """Accept an invitation, as whoever is signed in or with a new login."""
    opened = members.invited(secret, now=clock.now())
    known = isinstance(request.user, Login)
    posted = request.POST if request.method == "POST" else None
    form = forms.Form(posted) if known else NewLoginForm(posted, initial={"email": opened.email})
    if posted is not None and form.is_valid():
        with shown_in(form):
            _accept(request, form, secret)
        if form.is_valid():
            request.session[FARM_KEY] = opened.farm_id
            messages.success(request, _("Welcome to %(farm)s.") % {"farm": opened.farm})
            return redirect("today")
    context = {"invitation": opened, "form": form, "known": known}
    return render(request, "web/signin/invitation.html", context)


def _start_form(request: HttpRequest, known: bool) -> forms.Form:
    posted = request.POST if request.method == "POST" else None
    if not known:
        return FirstFarmForm(posted)
    assert isinstance(request.user, Login)
    return FurtherFarmForm(posted, initial={"keeper": request.user.name})


def _first(request: HttpRequest, form: forms.Form) -> Farm | None:
    if wait := limits.sign_up(caller(request), clock.now()).take():
        form.add_error(
            None,
            _("Many farms were started from here just now. Wait %(wait)s.") % {"wait": said_wait(wait)},
        )
        return None
    login, farm = logins.start_farm(now=clock.now(), **form.cleaned_data)
    sign_in(request, login, backend=BACKEND)
    return farm


def _further(request: HttpRequest, form: forms.Form) -> Farm:
    assert isinstance(request.user, Login)
    farm, _keeper = farms.start(login=request.user, now=clock.now(), face=Face.PAGE, **form.cleaned_data)
    return farm


def _accept(request: HttpRequest, form: forms.Form, secret: str) -> None:
    if isinstance(request.user, Login):
        members.accept(secret, login=request.user, now=clock.now())
        return
    login, _member = logins.join(secret, now=clock.now(), **form.cleaned_data)
    sign_in(request, login, backend=BACKEND)
