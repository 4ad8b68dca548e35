"""The forms of signing in, starting a farm and joining one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import (
    AuthenticationForm,
    PasswordChangeForm,
    PasswordResetForm,
    SetPasswordForm,
)
from django.contrib.auth.password_validation import password_validators_help_text_html
from django.core.exceptions import ValidationError
from django.utils.functional import lazy
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from farm.models import Login
from farm.models.farm import Units
from farm.web import clock
from farm.web.signin import devices, limits
from farm.web.zones import ZoneField

EMAIL_INPUT = {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}


def said_wait(seconds: int) -> str:
    """Return a wait in words: seconds below two minutes, else whole minutes, rounded up."""
    if seconds < 120:
        return ngettext("%(n)d second", "%(n)d seconds", seconds) % {"n": seconds}
    minutes = -(-seconds // 60)
    return ngettext("%(n)d minute", "%(n)d minutes", minutes) % {"n": minutes}


def check_again(login: Login, password: str) -> None:
    """Let the password of whoever is signed in through. Raises ValidationError for a wrong one, and after too many."""
    attempt = limits.signed_in(login.email, clock.now())
    if wait := attempt.take():
        text = _("Too many tries with a wrong password. Wait %(wait)s and try again.")
        raise ValidationError(text, code="wait", params={"wait": said_wait(wait)})
    if not login.check_password(password):
        raise ValidationError(_("This is not your password."), code="wrong")
    attempt.give_back()


class PasswordPart(forms.Form):
    """The password of whoever is signed in, behind the brake on guessing."""

    required_css_class = "required"
    error_css_class = "refused"

    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        max_length=4096,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, login: Login, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)
        self.login = login

    def clean_password(self) -> str:
        """Look at the password unless too many were wrong just now."""
        password = str(self.cleaned_data["password"])
        check_again(self.login, password)
        return password


class Braked(AuthenticationForm):
    """Django's own sign-in form behind the brake on guessing."""

    def clean(self) -> dict[str, Any]:
        """Count the attempt, then look at the password. While there is a wait, a right one is not looked at."""
        email, password = self.cleaned_data.get("username"), self.cleaned_data.get("password")
        if not email or not password:
            return self.cleaned_data
        address = self.request.META.get("REMOTE_ADDR", "") if self.request else ""
        attempt = limits.sign_in(email, address, clock.now(), devices.known(self.request, email))
        if wait := attempt.take():
            raise ValidationError(
                _(
                    "Too many tries with a wrong password. Wait %(wait)s and try again, or set a new password."
                ),
                code="wait",
                params={"wait": said_wait(wait)},
            )
        cleaned = super().clean()
        attempt.give_back()
        return cleaned


class SignInForm(Braked):
    """E-mail and password."""

    required_css_class = "required"
    error_messages = {
        "invalid_login": _("This e-mail address and password do not go together. Check both and try again."),
        "inactive": _("This login was switched off. Ask whoever runs this server."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)
        self.fields["username"].label = _("E-mail")
        self.fields["username"].widget = forms.EmailInput(attrs=EMAIL_INPUT | {"maxlength": 254})


class LetterForm(PasswordResetForm):
    """Where the letter for a new password goes. Says nothing about whether there is such a login."""

    required_css_class = "required"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)
        self.fields["email"].label = _("E-mail")

    def clean_email(self) -> str:
        """Refuse to fill a stranger's letter box."""
        email = str(self.cleaned_data["email"])
        if wait := limits.letter(email, clock.now()).take():
            raise ValidationError(
                _(
                    "Several letters were asked for already. Look in the inbox and the junk folder, or wait %(wait)s"
                    " and ask again."
                ),
                code="wait",
                params={"wait": said_wait(wait)},
            )
        return email


class NewPasswordForm(SetPasswordForm):
    """A new password, twice."""

    required_css_class = "required"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)


class ChangePasswordForm(PasswordChangeForm):
    """The old password, and a new one twice."""

    required_css_class = "required"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)

    def clean_old_password(self) -> str:
        """Look at the password there is, behind the brake."""
        password = str(self.cleaned_data["old_password"])
        check_again(self.user, password)
        return password


class NewLoginForm(forms.Form):
    """E-mail and a new password."""

    required_css_class = "required"
    error_css_class = "refused"

    email = forms.EmailField(
        label=_("E-mail"),
        max_length=254,
        widget=forms.EmailInput(attrs=EMAIL_INPUT | {"autocomplete": "email"}),
    )
    password = forms.CharField(
        label=_("Password"),
        strip=False,
        max_length=4096,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=lazy(password_validators_help_text_html, str)(),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)


class FarmPart(forms.Form):
    """What a new farm needs at once; the rest waits in its settings."""

    required_css_class = "required"
    error_css_class = "refused"

    name = forms.CharField(label=_("Name of the farm"), max_length=80)
    keeper = forms.CharField(
        label=_("Your name"),
        max_length=80,
        help_text=_("As the others on the farm call you."),
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    time_zone = ZoneField()
    units = forms.ChoiceField(label=_("Units"), choices=Units.choices, initial=Units.METRIC)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)


class FurtherFarmForm(FarmPart):
    """A farm for somebody who is signed in."""


class FirstFarmForm(FarmPart, NewLoginForm):
    """A farm and the login of its keeper."""

    field_order = ["name", "keeper", "email", "password", "time_zone", "units"]
