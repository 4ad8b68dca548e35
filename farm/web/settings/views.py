"""The farm's settings, and the reader's own language."""

from __future__ import annotations

from django.conf import settings as django_settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import override
from django.views.decorators.http import require_http_methods, require_POST

from farm.models.member import Role
from farm.services import farms, logins
from farm.web import zones
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in
from farm.web.settings.forms import LanguageForm, SettingsForm


@require_http_methods(["GET", "POST"])
@farm_page()
def settings(request: FarmRequest) -> HttpResponse:
    """Show the settings to everybody; a keeper changes them."""
    visit = request.visit
    if request.method == "POST":
        visit.by.require(Role.KEEPER)
        form = SettingsForm(request.POST, farm=visit.farm)
        if form.is_valid():
            with shown_in(form):
                farms.change(visit.by, expected_version=form.seen_version, **form.values())
            if form.is_valid():
                messages.success(request, _("The settings are saved."))
                return redirect("settings")
    else:
        form = SettingsForm(initial=SettingsForm.stored(visit.farm), farm=visit.farm)
    form.hide_tick()
    return _page(request, form)


@require_POST
@farm_page()
def language(request: FarmRequest) -> HttpResponse:
    """Set the language of whoever is signed in."""
    login = request.visit.by.login
    assert login is not None, "farm_page lets nobody else in"
    form = LanguageForm(request.POST, login=login)
    if form.is_valid():
        logins.set_language(login, form.cleaned_data["language"])
        with override(login.language or None):
            messages.success(request, _("Your language is saved."))
        return redirect("settings")
    stored = SettingsForm(initial=SettingsForm.stored(request.visit.farm), farm=request.visit.farm)
    stored.hide_tick()
    return _page(request, stored, form)


def _page(request: FarmRequest, form: SettingsForm, language: LanguageForm | None = None) -> HttpResponse:
    login = request.visit.by.login
    assert login is not None, "farm_page lets nobody else in"
    several = len(django_settings.LANGUAGES) > 1
    context = {
        "form": form,
        "zones": zones.suggested(),
        "language_form": (language or LanguageForm(login=login)) if several else None,
    }
    return render(request, "web/settings/settings.html", context)
