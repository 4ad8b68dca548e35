"""The second step of a login: the page that asks for a code, and the login's own pages that switch it on and off."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from farm.models import Login
from farm.queries import second_step as known
from farm.services import second_step
from farm.web import clock
from farm.web.access import open_page
from farm.web.housing.card import qr_svg
from farm.web.second_step import gate
from farm.web.second_step.forms import CodeForm, ConfirmForm, PasswordAndCodeForm, PasswordPart
from farm.web.signin import devices


@sensitive_post_parameters("code")
@never_cache
@require_http_methods(["GET", "POST"])
def code(request: HttpRequest) -> HttpResponse:
    """Ask whoever gave a right password for a code, and let them in with it."""
    half = gate.half(request, now=clock.now())
    if half is None:
        messages.info(request, _("That took too long. Sign in again."))
        return redirect("login")
    paper = "paper" in request.GET
    form = CodeForm(request.POST or None, login=half.login, paper=paper)
    if request.method == "POST" and form.is_valid():
        gate.let_in(request, half.login)
        _say_what_is_left(request, form, half.login)
        return devices.remember(request, redirect(half.to), half.login)
    return render(request, "web/second_step/code.html", {"form": form, "paper": paper})


@sensitive_post_parameters("password")
@never_cache
@login_required
@require_http_methods(["GET", "POST"])
@open_page
def standing(request: HttpRequest) -> HttpResponse:
    """Say whether the second step is on; with the password, begin to switch it on."""
    login = _own(request)
    if login.second_step_at is not None:
        context = {"since": login.second_step_at, "left": known.codes_left(login)}
        return render(request, "web/second_step/on.html", context)
    form = PasswordPart(request.POST or None, login=login)
    if request.method == "POST" and form.is_valid():
        second_step.begin(login)
        return redirect("second-step-add")
    return render(request, "web/second_step/off.html", {"form": form})


@sensitive_post_parameters("code")
@never_cache
@login_required
@require_http_methods(["GET", "POST"])
@open_page
def add(request: HttpRequest) -> HttpResponse:
    """Show the code to scan; with a first code from the app, switch on and show the recovery codes once."""
    login = _own(request)
    device = known.draft(login)
    if device is None or login.second_step_at is not None:
        return redirect("second-step")
    form = ConfirmForm(request.POST or None, login=login)
    if request.method == "POST" and form.is_valid():
        codes = second_step.switch_on(login, now=clock.now())
        gate.keep_here(request, login)
        return render(request, "web/second_step/codes.html", {"codes": codes, "fresh": True})
    secret = spelled(device.config_url)
    context = {"form": form, "qr": qr_svg(device.config_url), "secret": secret, "login": login}
    return render(request, "web/second_step/add.html", context)


@sensitive_post_parameters("password", "code")
@never_cache
@login_required
@require_http_methods(["GET", "POST"])
@open_page
def codes(request: HttpRequest) -> HttpResponse:
    """Make new recovery codes, which voids those before, and show them once."""
    login = _own(request)
    if login.second_step_at is None:
        return redirect("second-step")
    form = PasswordAndCodeForm(request.POST or None, login=login)
    if request.method == "POST" and form.is_valid():
        return render(request, "web/second_step/codes.html", {"codes": second_step.new_codes(login)})
    return render(request, "web/second_step/renew.html", {"form": form})


@sensitive_post_parameters("password", "code")
@never_cache
@login_required
@require_http_methods(["GET", "POST"])
@open_page
def off(request: HttpRequest) -> HttpResponse:
    """Switch the second step off, with password and code."""
    login = _own(request)
    if login.second_step_at is None:
        return redirect("second-step")
    form = PasswordAndCodeForm(request.POST or None, login=login)
    if request.method == "POST" and form.is_valid():
        second_step.switch_off(login)
        gate.keep_here(request, login)
        messages.success(request, _("The second step is off. Other devices are signed out."))
        return redirect("second-step")
    return render(request, "web/second_step/switch_off.html", {"form": form})


def spelled(address: str) -> str:
    """Return the secret of an otpauth address in groups of four, for typing."""
    secret = address.split("secret=")[1].split("&")[0]
    return " ".join(secret[at : at + 4] for at in range(0, len(secret), 4))


def _say_what_is_left(request: HttpRequest, form: CodeForm, login: Login) -> None:
    if form.tried is None or not form.tried.from_paper:
        return
    left = known.codes_left(login)
    said = ngettext("%(n)d recovery code is left.", "%(n)d recovery codes are left.", left) % {"n": left}
    where = _("Make new ones under Settings, “Second step when signing in”.")
    messages.warning(request, f"{said} {where}" if left < second_step.RECOVERY_CODES // 2 else said)


def _own(request: HttpRequest) -> Login:
    assert isinstance(request.user, Login)
    return request.user
