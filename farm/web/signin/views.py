"""Signing in and out, and passwords: Django's views with our forms, words and brake."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views as auth
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _

from farm.services import second_step
from farm.web import clock, mail
from farm.web.access import open_page
from farm.web.second_step import gate
from farm.web.signin import devices, limits
from farm.web.signin.forms import ChangePasswordForm, LetterForm, NewPasswordForm, SignInForm


class SignIn(auth.LoginView):
    """E-mail and password; then back to where the login was asked for."""

    form_class = SignInForm
    template_name = "web/signin/login.html"
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Say whether strangers may start a farm here."""
        return super().get_context_data(**kwargs) | {"may_sign_up": may_sign_up()}

    def form_valid(self, form: Any) -> HttpResponse:
        """Let in who owes no code; the others are asked for it before anything is open to them."""
        login = form.get_user()
        if login.second_step_at is not None:
            gate.begin_half(self.request, login, to=self.get_success_url(), now=clock.now())
            return redirect("login-code")
        return devices.remember(self.request, super().form_valid(form), login)


class AskForLetter(auth.PasswordResetView):
    """Send a letter with a link to a new password, to an address that has a login."""

    form_class = LetterForm
    template_name = "web/signin/reset.html"
    email_template_name = "web/signin/reset_letter.txt"
    subject_template_name = "web/signin/reset_subject.txt"
    success_url = reverse_lazy("password-reset-sent")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Say so when letters stay on this server."""
        return super().get_context_data(**kwargs) | {"mail_stays_here": mail.stays_here()}

    def form_valid(self, form: Any) -> HttpResponse:
        """Send it, with the site's own address: the request's could be forged."""
        self.extra_email_context = {"address": settings.ADDRESS}
        return super().form_valid(form)


class LetterSent(auth.PasswordResetDoneView):
    """Said whether there is such a login or not."""

    template_name = "web/signin/reset_sent.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Say so when letters stay on this server."""
        return super().get_context_data(**kwargs) | {"mail_stays_here": mail.stays_here()}


class NewPassword(auth.PasswordResetConfirmView):
    """The page the letter's link opens."""

    form_class = NewPasswordForm
    template_name = "web/signin/reset_confirm.html"
    success_url = reverse_lazy("login")

    def form_valid(self, form: Any) -> HttpResponse:
        """Save it and lift the wait of whoever had forgotten it; the next page is the sign-in."""
        assert self.user is not None, "the link was good"
        for browser in {"", devices.known(self.request, self.user.email)}:
            limits.sign_in(self.user.email, caller(self.request), clock.now(), browser).give_back()
        messages.success(self.request, _("Your new password is saved. Sign in with it."))
        return super().form_valid(form)


@method_decorator(open_page, name="dispatch")
class ChangePassword(auth.PasswordChangeView):
    """A new password for whoever is signed in; other devices are signed out."""

    form_class = ChangePasswordForm
    template_name = "web/signin/password.html"
    success_url = reverse_lazy("settings")

    def form_valid(self, form: Any) -> HttpResponse:
        """Save it and say so. Whoever tried codes with the old one is shut out, so their wrong ones count no more."""
        second_step.lift_wait(form.user)
        messages.success(self.request, _("Your new password is saved. Other devices are signed out."))
        return super().form_valid(form)


def may_sign_up() -> bool:
    """Say whether somebody without an invitation may make a login on this server."""
    return bool(settings.SIGNUP)


def caller(request: HttpRequest) -> str:
    """Return the address a request comes from; the server has set it from a trusted proxy alone."""
    return str(request.META.get("REMOTE_ADDR", ""))
