"""The box a sentence is typed in."""

from __future__ import annotations

import secrets
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import Farm
from farm.web.forms import FarmForm
from farm.web.quick.parse import MOST_LETTERS


class QuickForm(FarmForm):
    """One sentence. `batch`, `from`, `place`: answers to what was asked back. key: told apart from a second sending."""

    text = forms.CharField(
        label=_("Write what happened"),
        max_length=MOST_LETTERS,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    key = forms.CharField(widget=forms.HiddenInput, required=False, max_length=32)
    back = forms.CharField(widget=forms.HiddenInput, required=False, max_length=20)

    @classmethod
    def opened(cls, farm: Farm, back: str = "today", text: str = "") -> QuickForm:
        """Return a fresh box. back: "today" or the number of the batch whose page it stands on."""
        return cls(
            farm=farm, initial={"key": secrets.token_hex(8), "back": back, "text": text}, auto_id="quick-%s"
        )

    def asked(self, question: Any) -> None:
        """Add the choices of a question; nothing is chosen beforehand."""
        labels = {"batch": _("Which batch?"), "from": _("From where?"), "place": _("Where?")}
        self.fields[question.ask] = forms.ChoiceField(
            label=labels[question.ask], choices=question.choices, widget=forms.RadioSelect
        )
