"""The forms about reminders: channels to add, and what is wished for."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import ReminderWishes
from farm.models.farm import Weekday
from farm.services.reminders.wishes import FIELDS
from farm.web.forms import FarmForm, VersionedForm
from farm.web.settings.forms import ClockField


class EmailChannelForm(FarmForm):
    """An e-mail address."""

    address = forms.EmailField(
        label=_("E-mail address"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )


class ServiceChannelForm(FarmForm):
    """The address of a push service, which is a secret: it is never filled in again."""

    address = forms.CharField(
        label=_("Address of the service"),
        max_length=1000,
        help_text=_("It is kept encrypted and never shown again."),
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false", "inputmode": "url"}
        ),
    )


def _clock(label: Any) -> ClockField:
    return ClockField(label=label, required=False)


class WishesForm(VersionedForm):
    """What is wished for; a time left empty is no reminder."""

    morning_at = _clock(_("Morning round"))
    midday_at = _clock(_("Midday round"))
    evening_at = _clock(_("Evening round"))
    outlook_weekday = forms.TypedChoiceField(
        label=_("The week ahead, on"),
        choices=[("", _("no day")), *Weekday.choices],
        coerce=int,
        empty_value=None,
        required=False,
    )
    outlook_at = ClockField(label=_("at"))
    changed = forms.BooleanField(
        label=_("When my rounds change"),
        help_text=_("At most one message in two hours, about the next seven days."),
        required=False,
    )
    missed = forms.BooleanField(
        label=_("When a chore that birds depend on is not ticked"),
        help_text=_("First whoever has it is told, then one adult after the other."),
        required=False,
    )
    quiet_from = _clock(_("Nothing from"))
    quiet_to = _clock(_("until"))

    @property
    def rounds(self) -> list[forms.BoundField]:
        """Return the times of reminders."""
        return [self["morning_at"], self["midday_at"], self["evening_at"]]

    @property
    def week(self) -> list[forms.BoundField]:
        """Return when the week ahead comes."""
        return [self["outlook_weekday"], self["outlook_at"]]

    @property
    def ticks(self) -> list[forms.BoundField]:
        """Return what is told or not."""
        return [self["changed"], self["missed"]]

    @property
    def quiet(self) -> list[forms.BoundField]:
        """Return the quiet hours."""
        return [self["quiet_from"], self["quiet_to"]]

    @classmethod
    def stored(cls, wishes: ReminderWishes) -> dict[str, Any]:
        """Return the wishes as the form's initial values."""
        return {name: getattr(wishes, name) for name in FIELDS} | {"version": wishes.version}
