"""Tokens on a page: made, shown once, switched off."""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api.models import ApiToken, Scope
from api.pages.forms import TokenForm
from api.services import tokens
from farm.errors import NotFound
from farm.models.member import Role
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page(Role.HELPER)
def tokens_page(request: FarmRequest) -> HttpResponse:
    """List the tokens a member may see (a keeper: all of the farm's), and make a new one, shown in this one answer."""
    by = request.visit.by
    sent = request.method == "POST"
    form = TokenForm(request.POST if sent else None, farm=request.visit.farm)
    if sent and form.is_valid():
        typed = form.cleaned_data
        ends = by.now + timedelta(days=typed["days"])
        with shown_in(form):
            secret = tokens.make(by, label=typed["label"], scopes=typed["scopes"], expires_at=ends)
        if form.is_valid():
            context = {"label": typed["label"], "secret": secret, "ends": ends, "address": settings.ADDRESS}
            return render(request, "api/made.html", context)
    words = dict(Scope.choices)
    live = [(one, [words[scope] for scope in one.scopes]) for one in tokens.seen_by(by)]
    return render(request, "api/tokens.html", {"form": form, "live": live, "now": by.now})


@require_http_methods(["GET", "POST"])
@farm_page(Role.HELPER)
def token_off(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then switch a token off."""
    token = tokens.seen_by(request.visit.by).filter(pk=pk).first()
    if token is None:
        raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": ApiToken._meta.verbose_name})
    form, done = ask_first(request, lambda: tokens.revoke(request.visit.by, token_id=pk))
    if done:
        messages.success(request, _("“%(label)s” is switched off.") % {"label": token.label})
        return redirect("api-tokens")
    return render(request, "api/token_off.html", {"token": token, "form": form})
