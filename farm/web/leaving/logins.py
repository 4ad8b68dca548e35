"""Giving up one's own login, and keeping it by signing in again."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_required
from django.contrib.auth.signals import user_logged_in
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from farm.models import Login
from farm.services.farewell import logins
from farm.web import clock
from farm.web.access import open_page
from farm.web.mishaps import shown_in
from farm.web.signin.forms import PasswordPart


@sensitive_post_parameters("password")
@never_cache
@login_required
@require_http_methods(["GET", "POST"])
@open_page
def give_up(request: HttpRequest) -> HttpResponse:
    """Say what goes and what has to be settled first, ask for the password, then sign out everywhere."""
    login = request.user
    assert isinstance(login, Login), "login_required lets nobody else in"
    form = PasswordPart(request.POST if request.method == "POST" else None, login=login)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            until = logins.give_up(login, now=clock.now(), **form.cleaned_data)
        if form.is_valid():
            logout(request)
            text = _("You are signed out. Your login is removed on %(day)s; sign in before then to keep it.")
            messages.success(request, text % {"day": date_format(until, "DATE_FORMAT")})
            return redirect("login")
    context = {"form": form, "alone_on": logins.alone_on(login), "days": logins.GRACE_DAYS}
    return render(request, "web/leaving/login.html", context)


@receiver(user_logged_in)
def keep(request: HttpRequest, user: Login, **_more: object) -> None:
    """Keep the login of whoever signs in again, and say so."""
    if user.leaving_at is not None and logins.take_back(user):
        messages.success(request, _("Your login is kept: it will not be removed."), fail_silently=True)
