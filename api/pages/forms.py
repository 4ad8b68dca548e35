"""What is asked of somebody who makes a token or a webhook."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from api.models import Scope
from api.services.webhooks import NOUNS
from farm.web.forms import FarmForm, VersionedForm

#: How long a token may hold, in days: project default (judgement).
HOLDS = {30: _("a month"), 90: _("three months"), 365: _("a year")}
#: The nouns of the history in a keeper's words.
WORDS = {
    "batch": _("batches, counts and stays"),
    "housing": _("housing"),
    "machine": _("machines for eggs"),
    "eggset": _("egg sets"),
    "intake": _("chicks to come"),
    "supplier": _("suppliers"),
    "order": _("orders"),
    "orderseries": _("repeating orders"),
    "feed": _("feed"),
    "plan": _("plans"),
    "rearingprogramme": _("rearing programmes"),
    "member": _("people"),
    "ownchore": _("own chores"),
    "observation": _("observations"),
    "rotarules": _("the rota's rules"),
    "farm": _("the farm's settings"),
    "weather": _("climate"),
}


class TokenForm(FarmForm):
    """A token to make."""

    label = forms.CharField(
        label=_("What is it for?"), max_length=60, help_text=_("For example: scales in the shed.")
    )
    scopes = forms.MultipleChoiceField(
        label=_("It may"), choices=Scope.choices, widget=forms.CheckboxSelectMultiple, initial=[Scope.READ]
    )
    days = forms.TypedChoiceField(
        label=_("It holds for"), choices=list(HOLDS.items()), coerce=int, initial=90
    )


class WebhookPart(forms.Form):
    """What every webhook is asked: what it is for, and what it is told about."""

    label = forms.CharField(label=_("What is it for?"), max_length=60)
    nouns = forms.MultipleChoiceField(
        label=_("Told about"),
        choices=[(noun, WORDS[noun]) for noun in NOUNS],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text=_("None ticked: everything."),
    )


class WebhookForm(WebhookPart, FarmForm):
    """A webhook to add."""

    field_order = ("label", "address", "nouns")
    address = forms.CharField(
        label=_("Address"),
        max_length=500,
        help_text=_("Begins with https://. Kept sealed; only its host is shown again."),
        widget=forms.URLInput(attrs={"inputmode": "url", "autocomplete": "off"}),
    )


class WebhookChangeForm(WebhookPart, VersionedForm):
    """A webhook to change; an empty address leaves it where it is."""

    field_order = ("version", "label", "active", "address", "nouns")
    active = forms.BooleanField(label=_("Switched on"), required=False)
    address = forms.CharField(
        label=_("Another address"),
        max_length=500,
        required=False,
        widget=forms.URLInput(attrs={"autocomplete": "off"}),
    )

    def wanted(self) -> dict[str, Any]:
        """Return what is to be different, as the service takes it."""
        found = {name: self.cleaned_data[name] for name in ("label", "active", "nouns")}
        return found | ({"address": self.cleaned_data["address"]} if self.cleaned_data["address"] else {})
