"""Choices and fields that the forms of hatching share."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.models import Farm, Machine
from farm.models.machine import MachineWork
from farm.queries import programmes
from farm.web.forms import EMPTY_CHOICE
from farm.web.hatching.wording import holds
from farm.web.stays.forms import places

#: Where eggs can be set, and where they can hatch.
SETS, HATCHES = (MachineWork.BOTH, MachineWork.SETTER), (MachineWork.BOTH, MachineWork.HATCHER)


class InstantField(forms.DateTimeField):
    """A day and hour on the farm's clock, by the browser's own picker; cleaned to an instant in UTC."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})
        super().__init__(widget=widget, **kwargs)

    def to_python(self, value: Any) -> datetime | None:
        """Return the instant in UTC, as records keep it."""
        found = super().to_python(value)
        return None if found is None else found.astimezone(UTC)


def number_or_none(**kwargs: Any) -> forms.TypedChoiceField:
    """Return a choice of a record by its number; nothing chosen is None."""
    return forms.TypedChoiceField(required=False, coerce=int, empty_value=None, **kwargs)


def words(label: Any, most: int, **kwargs: Any) -> forms.CharField:
    """Return a field for a few words that may stay empty."""
    return forms.CharField(label=label, required=False, max_length=most, **kwargs)


def notes() -> forms.CharField:
    """Return the field for notes."""
    return words(gettext_lazy("Notes"), 2000, widget=forms.Textarea({"rows": 3}))


def choose(form: forms.Form, name: str, choices: list[Any]) -> None:
    """Give a field of a form its choices."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    field.choices = choices


def machines(farm: Farm, works: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return the farm's machines that do one of `works`, with the eggs they hold."""
    found = Machine.objects.filter(farm=farm, does__in=works)
    return [(str(row.pk), f"{row.name} ({holds(row)})") for row in found]


def choose_machines(form: forms.Form, farm: Farm) -> None:
    """Fill in where eggs are set and where they hatch."""
    choose(form, "setter_id", [EMPTY_CHOICE, *machines(farm, SETS)])
    choose(form, "hatcher_id", [("", _("where they are set")), *machines(farm, HATCHES)])


def choose_programme(form: forms.Form, farm: Farm) -> None:
    """Fill in the types of birds."""
    choose(form, "programme", [EMPTY_CHOICE, *programmes.by_species(farm.pk)])


def choose_housing(form: forms.Form, farm: Farm, nothing: str) -> None:
    """Fill in the farm's housing; `nothing` stands for none."""
    choose(form, "housing_id", [("", nothing), *places(farm)])


def instant(farm: Farm, day: date, hour: time | None) -> datetime | None:
    """Return a day and hour on the farm's clock as an instant in UTC, None without an hour."""
    return None if hour is None else datetime.combine(day, hour, ZoneInfo(farm.time_zone)).astimezone(UTC)


def local(farm: Farm, at: datetime) -> datetime:
    """Return an instant on the farm's clock."""
    return at.astimezone(ZoneInfo(farm.time_zone))
