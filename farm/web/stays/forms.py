"""Forms of a stay and of a move."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm import wording
from farm.models import Batch, Farm, Housing, Stay
from farm.phrase import Quantity
from farm.queries import heads
from farm.services.counts import MOST_BIRDS
from farm.web.forms import EMPTY_CHOICE, DayField, FarmForm, VersionedForm

Choices = list[tuple[str, Any]]


def places(farm: Farm) -> Choices:
    """Return the farm's housing to choose from, with its floor and whether it has heat."""
    return [(str(row.pk), said(row, farm)) for row in Housing.objects.filter(farm=farm)]


def said(housing: Housing, farm: Farm) -> str:
    """Return a housing in a list of choices: "Brooder 1 (4.0 m², heated)"."""
    area = wording.quantity(Quantity(housing.area_m2, "m2"), farm.units)
    heat = gettext("heated") if housing.heated else gettext("no heat")
    return f"{housing.name} ({area}, {heat})"


def _number(value: str) -> int | str:
    return int(value) if value else ""


class StayForm(VersionedForm):
    """Part of a batch in one housing over half-open days."""

    housing_id = forms.TypedChoiceField(label=_("Housing"), coerce=_number)
    birds = forms.IntegerField(label=_("Birds"), min_value=1, max_value=MOST_BIRDS)
    start = DayField(label=_("From"))
    end = DayField(
        label=_("Until"),
        required=False,
        help_text=_("The day they leave. Empty: until further notice."),
    )
    pinned = forms.BooleanField(
        label=_("Pinned"), required=False, help_text=_("A plan made by Featherdays leaves it where it is.")
    )
    override_reason = forms.CharField(
        label=_("Reason, if they go without heat they need"), required=False, max_length=200
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["housing_id"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [EMPTY_CHOICE, *places(self.farm)]

    @staticmethod
    def stored(stay: Stay) -> dict[str, Any]:
        """Return a stay's values for its form."""
        return {name: getattr(stay, name) for name in StayForm.base_fields}


def opening(batch: Batch, today: date, asked: str = "") -> dict[str, Any]:
    """Return what a new stay starts with: the birds that have no housing, from the first day it can be.

    asked: the number of the housing somebody came from.
    """
    start = max(today, batch.arrived_on)
    housed, free = heads.places_on(batch, start)
    birds = free or sum(count for _stay, count in housed)
    return {"birds": birds or None, "start": start, "end": batch.leaves_on, "housing_id": asked}


class MoveForm(FarmForm):
    """Birds of a batch from one housing to another; the rest stay."""

    from_id = forms.TypedChoiceField(label=_("From"), coerce=_number)
    to_id = forms.TypedChoiceField(label=_("To"), coerce=_number)
    birds = forms.IntegerField(label=_("Birds"), min_value=1, max_value=MOST_BIRDS)
    day = DayField(label=_("On"))
    override_reason = forms.CharField(
        label=_("Reason, if they go without heat they need"), required=False, max_length=200
    )

    def __init__(self, *args: Any, batch: Batch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        old, new = self.fields["from_id"], self.fields["to_id"]
        assert isinstance(old, forms.ChoiceField)
        assert isinstance(new, forms.ChoiceField)
        mine = {stay.housing_id: stay.housing for stay in batch.stays.select_related("housing")}
        old.choices = [EMPTY_CHOICE, *((str(pk), said(row, self.farm)) for pk, row in mine.items())]
        new.choices = [EMPTY_CHOICE, *places(self.farm)]


def leaving(batch: Batch, today: date) -> dict[str, Any]:
    """Return what a move starts with: where the birds are today, all of them."""
    day = max(today, batch.arrived_on)
    housed, _free = heads.places_on(batch, day)
    start: dict[str, Any] = {"day": day}
    if housed:
        biggest = max(housed, key=lambda place: place[1])[0].housing_id
        start["from_id"] = biggest
        start["birds"] = sum(count for stay, count in housed if stay.housing_id == biggest)
    return start
