"""Forms of a housing and of what is seen in it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.husbandry import litter
from farm.models import Housing
from farm.models.housing import HousingKind, Light
from farm.models.observation import ObservationKind
from farm.queries import whereabouts
from farm.services.housing_rules import RANGES
from farm.trade import behaviours, species
from farm.trade.general import figure
from farm.web.forms import EMPTY_CHOICE, DayField, FarmForm, QuantityField, VersionedForm

_OUTDOORS = {HousingKind.RUN, HousingKind.PADDOCK}


def by_kind(kind: str) -> dict[str, Any]:
    """Return what a new housing of a kind starts with; an unknown kind starts as a brooder."""
    kind = kind if kind in HousingKind.values else HousingKind.BROODER
    return {
        "kind": kind,
        "heated": kind == HousingKind.BROODER,
        "indoor": kind not in _OUTDOORS,
        "rest_days": litter.rest_days(kind),
        "max_age_gap_days": 7,
        "feeder_cm": 0,
        "drinker_cm": 0,
    }


def whereabouts_field() -> forms.CharField:
    """Return the field for where a housing or machine stands."""
    return forms.CharField(
        label=_("Where it stands"),
        required=False,
        max_length=40,
        help_text=_("For example “barn”. The rota gives the chores of what stands together to one person."),
        widget=forms.TextInput(attrs={"list": "places", "autocomplete": "off"}),
    )


def stored(housing: Housing) -> dict[str, Any]:
    """Return a housing's values for its form."""
    return {name: getattr(housing, name) for name in HousingForm.base_fields}


class HousingForm(VersionedForm):
    """A housing: its room, heat and rules."""

    later = ("whereabouts",)
    name = forms.CharField(label=_("Name"), max_length=60, help_text=_("As it stands on the door."))
    kind = forms.ChoiceField(label=_("Kind"), choices=HousingKind.choices)
    area_m2 = QuantityField(unit="m2", label=_("Floor the birds can use"))
    heated = forms.BooleanField(label=_("It has heat for chicks"), required=False)
    indoor = forms.BooleanField(label=_("It is indoors"), required=False)
    supplement_c = QuantityField(
        unit="delta_degC",
        digits=1,
        label=_("Warmer than outdoors at night by"),
        required=False,
        validators=[MinValueValidator(0), MaxValueValidator(figure("outdoors", "shelter_most_c"))],
        help_text=_("At bird height, heat off. Empty: as usual for its kind."),
    )
    light = forms.ChoiceField(label=_("Light"), choices=Light.choices, required=False)
    feeder_cm = QuantityField(
        unit="cm",
        digits=1,
        label=_("Feeder edge"),
        help_text=_("All edges birds can eat at: both sides of a trough count. 0 when not measured."),
    )
    drinker_cm = QuantityField(
        unit="cm", digits=1, label=_("Drinker edge"), help_text=_("0 when not measured.")
    )
    species = forms.MultipleChoiceField(
        label=_("Only for"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Tick none to allow all."),
    )
    one_batch = forms.BooleanField(label=_("One batch at a time"), required=False)
    max_age_gap_days = forms.IntegerField(
        label=_("Largest age gap when batches share it (days)"),
        min_value=0,
        max_value=int(RANGES["max_age_gap_days"][1]),
    )
    rest_days = forms.IntegerField(
        label=_("Rest after clean-out (days)"), min_value=0, max_value=int(RANGES["rest_days"][1])
    )
    in_service_from = DayField(label=_("In use from"), required=False, help_text=_("Empty: it always was."))
    in_service_to = DayField(
        label=_("Out of use from"), required=False, help_text=_("Empty: in use until further notice.")
    )
    notes = forms.CharField(
        label=_("Notes"), required=False, max_length=2000, widget=forms.Textarea({"rows": 3})
    )
    whereabouts = whereabouts_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["species"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(key, gettext(one.plural)) for key, one in species.species().items()]

    @property
    def places(self) -> list[str]:
        """Return the places that have a name already."""
        return whereabouts.known(self.farm)


class SeenForm(FarmForm):
    """One thing seen in a housing; each kind has a field of its own on its own small form."""

    kind: str = ""

    def seen(self) -> dict[str, Any]:
        """Return what `observations.add` is given."""
        return {"kind": self.kind} | self.values()


class TemperatureForm(SeenForm):
    """A temperature at the birds' height."""

    kind = ObservationKind.TEMPERATURE
    value = QuantityField(
        unit="degC",
        digits=1,
        label=_("Temperature at the birds' height"),
        validators=[MinValueValidator(-30), MaxValueValidator(50)],
    )


class BehaviourForm(SeenForm):
    """What the birds do."""

    kind = ObservationKind.BEHAVIOUR
    word = forms.ChoiceField(label=_("What they do"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["word"]
        assert isinstance(field, forms.ChoiceField)
        known = behaviours.behaviours().values()
        field.choices = [EMPTY_CHOICE, *((one.key, gettext(one.seen)) for one in known)]


class NoteForm(SeenForm):
    """Anything else, in words."""

    kind = ObservationKind.NOTE
    note = forms.CharField(label=_("Note"), max_length=500)


SEEN_FORMS: dict[str, type[SeenForm]] = {
    form.kind: form for form in (TemperatureForm, BehaviourForm, NoteForm)
}
