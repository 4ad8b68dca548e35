"""Forms of chicks expected from elsewhere: ordered, changed, and counted when they arrive."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.models import Intake, Supplier
from farm.models.batch import Sex
from farm.models.intake import IntakeState, Way
from farm.services.counts import MOST_BIRDS
from farm.services.intakes import NewIntake
from farm.web.forms import DayField, VersionedForm
from farm.web.hatching import fields
from farm.web.hatching.fields import InstantField, number_or_none, words

_AFTERWARDS = ("supplier_id", "from_whom", "notes", "version")


def _birds(label: Any, low: int = 0, **kwargs: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=low, max_value=MOST_BIRDS, **kwargs)


def _due_on() -> DayField:
    return DayField(label=_("Expected on"), help_text=_("The day they should come."))


def _hatched_at() -> InstantField:
    return InstantField(
        label=_("Hatched at"),
        required=False,
        help_text=_(
            "Day and hour, if the seller says. Empty: as long before as they usually are on the way."
        ),
    )


def _from_whom() -> forms.CharField:
    return words(_("From whom"), 80, help_text=_("Empty: the supplier's name."))


class _IntakeForm(VersionedForm):
    """What new and changed intakes share."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Supplier.objects.filter(farm=self.farm)
        fields.choose(
            self,
            "supplier_id",
            [("", gettext("none in the list")), *((str(row.pk), row.name) for row in rows)],
        )

    def clean_extras(self) -> int:
        """Take an empty number of extra chicks as none."""
        return self.cleaned_data.get("extras") or 0


class IntakeForm(_IntakeForm):
    """Chicks ordered elsewhere."""

    later = ("extras", "sex", "breed", "way", "hatched_at", "name", "notes")

    programme = forms.ChoiceField(label=_("Species and type"))
    ordered = _birds(_("Chicks ordered"), 1)
    due_on = _due_on()
    supplier_id = number_or_none(label=_("Supplier"))
    from_whom = _from_whom()
    housing_id = number_or_none(label=_("Where they go"))
    extras = _birds(_("Extra chicks"), required=False, help_text=_("Given on top for losses on the way."))
    sex = forms.ChoiceField(label=_("Sex"), choices=Sex.choices)
    breed = words(_("Breed"), 60)
    way = forms.ChoiceField(label=_("How they come"), choices=Way.choices)
    hatched_at = _hatched_at()
    name = words(_("Name of the batch"), 60, help_text=_("Empty: from whom they come, and when."))
    notes = fields.notes()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_programme(self, self.farm)
        fields.choose_housing(self, self.farm, gettext("not known yet"))

    @property
    def unfold(self) -> bool:
        """Say whether something was typed into a folded field."""
        return self.is_bound and any(
            field.value() for field in self.folded if field.name not in ("sex", "way", "extras")
        )

    def new(self) -> NewIntake:
        """Return what `intakes.expect` is given."""
        return NewIntake(**self.values())


class IntakeEditForm(_IntakeForm):
    """What may be changed of an intake; of one that is over only from whom, and the notes."""

    due_on = _due_on()
    ordered = _birds(_("Chicks ordered"), 1)
    extras = _birds(_("Extra chicks"), required=False)
    supplier_id = number_or_none(label=_("Supplier"))
    from_whom = forms.CharField(label=_("From whom"), max_length=80)
    sex = forms.ChoiceField(label=_("Sex"), choices=Sex.choices)
    breed = words(_("Breed"), 60)
    way = forms.ChoiceField(label=_("How they come"), choices=Way.choices)
    hatched_at = _hatched_at()
    notes = fields.notes()

    def __init__(self, *args: Any, intake: Intake, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if intake.state != IntakeState.EXPECTED:
            for name in set(self.fields) - set(_AFTERWARDS):
                del self.fields[name]

    @staticmethod
    def stored(intake: Intake) -> dict[str, Any]:
        """Return an intake's values for its form."""
        return {name: getattr(intake, name) for name in IntakeEditForm.base_fields}


class ArrivalForm(VersionedForm):
    """What came."""

    alive = _birds(_("Alive"))
    dead = _birds(_("Dead on arrival"), required=False)
    weak = _birds(_("Weak, among those alive"), required=False)
    arrived_at = InstantField(label=_("Arrived at"))
    hatched_at = InstantField(
        label=_("Hatched at"), required=False, help_text=_("As the box or the seller says. Empty: as known.")
    )
    housing_id = number_or_none(label=_("Where they are"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_housing(self, self.farm, gettext("where they are planned"))

    @property
    def found(self) -> dict[str, Any]:
        """Return what `intakes.arrive` is given; empty numbers are 0."""
        return self.values() | {name: self.cleaned_data.get(name) or 0 for name in ("dead", "weak")}
