"""The forms of the second step: a code, and what is asked before something changes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from farm.models import Login
from farm.services import second_step
from farm.services.second_step import Tried
from farm.web import clock
from farm.web.signin.forms import PasswordPart, said_wait

WRONG = _(
    "This code does not fit. The app shows another every 30 seconds, and each works once: wait for the next."
    " If none ever fits, set the clock of your telephone right."
)
WRONG_PAPER = _("This is none of your recovery codes that are still good. Each works once.")
TOO_MANY = _("Too many wrong codes. Wait %(wait)s and try again.")
CODE = {"autocomplete": "one-time-code", "spellcheck": "false", "autocapitalize": "none", "maxlength": 40}


class CodeForm(forms.Form):
    """A code from the app or, with `paper`, a recovery code."""

    required_css_class = "required"
    error_css_class = "refused"

    code = forms.CharField(label=_("Code from your app"), max_length=40, help_text=_("Six digits."))

    def __init__(self, *args: Any, login: Login, paper: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)
        self.login = login
        self.tried: Tried | None = None
        more: dict[str, Any] = {} if paper else {"inputmode": "numeric"}
        field = self.fields["code"]
        field.widget = forms.TextInput(attrs=CODE | more | {"maxlength": 40})
        if paper:
            field.label, field.help_text = (
                _("Recovery code"),
                _("One of the codes you printed or wrote down."),
            )

    def clean(self) -> dict[str, Any]:
        """Try the code once everything else is right: trying uses it up."""
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            self._use(self.judge(), cleaned["code"], clock.now())
        return cleaned

    def judge(self) -> Callable[..., Tried]:
        """Return what tries a code."""
        return second_step.try_code

    def _use(self, judge: Callable[..., Tried], code: str, now: datetime) -> None:
        self.tried = tried = judge(self.login, code, now=now)
        if tried.wait:
            wait = said_wait(tried.wait)
            self.add_error("code", ValidationError(TOO_MANY, code="wait", params={"wait": wait}))
        elif not tried.good:
            self.add_error("code", ValidationError(WRONG_PAPER if tried.from_paper else WRONG, code="wrong"))


class ConfirmForm(CodeForm):
    """The first code of an app that was just added."""

    def judge(self) -> Callable[..., Tried]:
        """Return what tries a code of the new app."""
        return second_step.try_draft


class PasswordAndCodeForm(PasswordPart, CodeForm):
    """Password and a code, asked before the second step is switched off or its recovery codes are made anew."""

    field_order = ["password", "code"]

    def __init__(self, *args: Any, login: Login, **kwargs: Any) -> None:
        CodeForm.__init__(self, *args, login=login, **kwargs)
        self.fields["code"].help_text = _("Six digits from your app, or one of your recovery codes.")
        self.fields["code"].widget.attrs.pop("inputmode", None)
