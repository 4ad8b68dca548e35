"""The forms of the farm's settings and of the reader's language."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from farm.models import Farm, Login
from farm.models.farm import Units, Weekday
from farm.services.farms import SETTINGS
from farm.web import zones
from farm.web.forms import VersionedForm
from farm.web.zones import ZoneField


class ClockField(forms.TimeField):
    """A time of day, without seconds."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})
        super().__init__(widget=widget, input_formats=["%H:%M", "%H:%M:%S"], **kwargs)


def _degrees(label: Any, most: int, help_text: Any) -> forms.FloatField:
    attrs = {"step": "any", "inputmode": "decimal"}
    return forms.FloatField(
        label=label,
        help_text=help_text,
        required=False,
        min_value=-most,
        max_value=most,
        widget=forms.NumberInput(attrs=attrs),
    )


class SettingsForm(VersionedForm):
    """Everything a keeper may set about the farm."""

    name = forms.CharField(label=_("Name of the farm"), max_length=80)
    time_zone = ZoneField()
    move_days = forms.BooleanField(
        label=_("Yes, change the time zone"),
        required=False,
        help_text=_("Nothing recorded is lost; each entry keeps its instant."),
    )
    units = forms.ChoiceField(label=_("Units"), choices=Units.choices)
    first_weekday = forms.TypedChoiceField(
        label=_("First day of the week"), choices=Weekday.choices, coerce=int
    )
    move_weekdays = forms.TypedMultipleChoiceField(
        label=_("Days on which you like to move birds"),
        help_text=_("Plans prefer these days. With none ticked, any day is as good."),
        choices=Weekday.choices,
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    latitude = _degrees(_("Latitude"), 90, _("North is positive. For example 52.5."))
    longitude = _degrees(_("Longitude"), 180, _("East is positive. For example 13.4."))
    morning_at = ClockField(label=_("Morning round"))
    midday_at = ClockField(label=_("Midday round"))
    evening_at = ClockField(label=_("Evening round"))

    @property
    def rounds(self) -> list[forms.BoundField]:
        """Return the clock times of the day's rounds."""
        return [self["morning_at"], self["midday_at"], self["evening_at"]]

    @property
    def place(self) -> list[forms.BoundField]:
        """Return the coordinates."""
        return [self["latitude"], self["longitude"]]

    def hide_tick(self) -> None:
        """Leave the tick box out until a changed zone asks for it; a service refuses before that."""
        asked = self.has_error("time_zone") and zones.is_zone(self["time_zone"].value())
        if not asked and not (self.is_bound and self.data.get("move_days")):
            self.fields.pop("move_days", None)

    @classmethod
    def stored(cls, farm: Farm) -> dict[str, Any]:
        """Return the farm's settings as a form's initial values."""
        return {name: getattr(farm, name) for name in SETTINGS} | {"version": farm.version}


class LanguageForm(forms.Form):
    """The language one login reads."""

    language = forms.ChoiceField(label=_("Language"), required=False)

    def __init__(self, *args: Any, login: Login, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", "initial": {"language": login.language}} | kwargs)
        field = self.fields["language"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("as my browser asks")), *settings.LANGUAGES]
