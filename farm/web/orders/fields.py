"""Fields and choices that the forms of orders share."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import Farm, OrderLine, RearingProgramme
from farm.models.order import Priority, WantedSex
from farm.queries import programmes
from farm.web.forms import EMPTY_CHOICE
from farm.web.orders.ages import AgeField

MOST_BIRDS = 5000  # as the records allow


def words(label: Any, most: int, **kwargs: Any) -> forms.CharField:
    """Return a field for a few words that may stay empty."""
    return forms.CharField(label=label, required=False, max_length=most, **kwargs)


def customer() -> forms.CharField:
    """Return the field for a customer, with those known as suggestions."""
    return forms.CharField(
        label=_("Customer"),
        max_length=80,
        widget=forms.TextInput({"list": "customers", "autocomplete": "off"}),
        help_text=_("A name or a code. A code keeps less about people."),
    )


def birds() -> forms.IntegerField:
    """Return the field for how many."""
    return forms.IntegerField(label=_("Birds"), min_value=1, max_value=MOST_BIRDS)


def programme() -> forms.ChoiceField:
    """Return the field for the type of birds; `choose_programme` fills it."""
    return forms.ChoiceField(label=_("Species and type"))


def choose_programme(form: forms.Form, farm: Farm) -> None:
    """Fill in the types of birds."""
    field = form.fields["programme"]
    assert isinstance(field, forms.ChoiceField)
    field.choices = [EMPTY_CHOICE, *programmes.by_species(farm.pk)]


def choice(row: RearingProgramme) -> str:
    """Return what stands for a type in that field: a built-in key, or the number of the farm's own."""
    return str(row.pk) if row.edited else row.built_in


def youngest() -> AgeField:
    """Return the field for the youngest age."""
    return AgeField(label=_("Youngest"), help_text=_("“8 weeks” or “56 days”; 0 days = day-olds."))


def oldest() -> AgeField:
    """Return the field for the oldest age."""
    return AgeField(label=_("Oldest"), help_text=_("When they are handed over."))


def sex() -> forms.ChoiceField:
    """Return the field for the sex wanted."""
    return forms.ChoiceField(label=_("Sex"), choices=WantedSex.choices, initial=WantedSex.ANY)


def priority() -> forms.TypedChoiceField:
    """Return the field for who gets birds first."""
    return forms.TypedChoiceField(
        label=_("When birds are too few, they get them"),
        choices=Priority.choices,
        initial=Priority.USUAL,
        coerce=int,
    )


def deposit() -> forms.CharField:
    """Return the field for a deposit."""
    return words(_("Deposit"), 200, help_text=_("A note, for example “20 paid on 2 May”."))


def notes() -> forms.CharField:
    """Return the field for notes."""
    return words(_("Notes"), 2000, widget=forms.Textarea({"rows": 3}))


def check_ages(form: forms.Form) -> None:
    """Put it at the oldest age when that is below the youngest."""
    low, high = form.cleaned_data.get("age_from_days"), form.cleaned_data.get("age_to_days")
    if low is not None and high is not None and high < low:
        form.add_error("age_to_days", _("The oldest age must not be below the youngest."))


def last_line(farm: Farm) -> dict[str, Any]:
    """Return the type and ages ordered last, to start a new order with; nothing on a farm without orders."""
    line = OrderLine.objects.filter(farm=farm).select_related("programme").order_by("-pk").first()
    if line is None:
        return {}
    return {
        "programme": choice(line.programme),
        "age_from_days": line.age_from_days,
        "age_to_days": line.age_to_days,
    }
