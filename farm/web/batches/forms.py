"""Forms of a batch: to start one, and to change its words and days."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models import Batch, Farm, Housing, Stay
from farm.models.batch import BatchSource, Sex
from farm.queries import naming, programmes
from farm.services.batches import NewBatch
from farm.services.counts import MOST_BIRDS
from farm.web.forms import EMPTY_CHOICE, DayField, FarmForm, VersionedForm
from farm.web.stays.forms import places

#: Fields of a new batch that most keepers leave as they are.


def _notes() -> forms.CharField:
    return forms.CharField(
        label=_("Notes"), required=False, max_length=2000, widget=forms.Textarea({"rows": 3})
    )


class BatchForm(FarmForm):
    """A new batch: its birds, their first place and their rearing programme."""

    later = ("sex", "breed", "housing_until", "leaves_on", "override_reason", "notes")

    name = forms.CharField(label=_("Name"), max_length=60, help_text=_("What you call them on the farm."))
    programme = forms.ChoiceField(
        label=_("Species and type"),
        help_text=_("Says how warm, how roomy and how fed they must be at each age."),
    )
    birds = forms.IntegerField(label=_("Birds"), min_value=1, max_value=MOST_BIRDS)
    hatch_day = DayField(label=_("Hatch day"), help_text=_("Their age counts from here. May lie ahead."))
    source = forms.ChoiceField(label=_("Where from"), choices=BatchSource.choices)
    arrived_on = DayField(label=_("Arrives on"), required=False, help_text=_("Empty: on the hatch day."))
    sex = forms.ChoiceField(label=_("Sex"), choices=Sex.choices)
    breed = forms.CharField(label=_("Breed"), required=False, max_length=60)
    housing_id = forms.TypedChoiceField(
        label=_("First place"),
        required=False,
        coerce=int,
        empty_value=None,
        help_text=_("Without one the board shows them as birds without housing."),
    )
    housing_until = DayField(
        label=_("There until"),
        required=False,
        help_text=_("The day they move on. Empty: until they leave, or until further notice."),
    )
    override_reason = forms.CharField(
        label=_("Reason, if they go without heat they need"),
        required=False,
        max_length=200,
        help_text=_(
            "Only for a place without heat while the programme still asks for it. "
            "Your reason is kept with the stay, and the board goes on showing what lacks."
        ),
    )
    leaves_on = DayField(
        label=_("Leaves on"),
        required=False,
        help_text=_("The day they are sold, processed or join the old birds, if you know it."),
    )
    notes = _notes()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        programme, housing = self.fields["programme"], self.fields["housing_id"]
        assert isinstance(programme, forms.ChoiceField)
        assert isinstance(housing, forms.ChoiceField)
        programme.choices = [EMPTY_CHOICE, *programmes.by_species(self.farm.pk)]
        housing.choices = [("", _("no place yet")), *places(self.farm)]

    @property
    def unfold(self) -> bool:
        """Say whether something was typed into a folded field."""
        return self.is_bound and any(field.value() for field in self.folded if field.name != "sex")

    def new(self) -> NewBatch:
        """Return what `batches.start` is given."""
        return NewBatch(**self.values())


def opening(farm: Farm, today: date, asked: str = "") -> dict[str, Any]:
    """Return what a new batch starts with: the next free name, today, and a heated place that stands empty.

    asked: the number of the housing somebody came from.
    """
    return {
        "name": naming.next_free(farm),
        "hatch_day": today,
        "source": BatchSource.INTAKE,
        "sex": Sex.STRAIGHT_RUN,
        "housing_id": asked or _empty_brooder(farm, today),
    }


def _empty_brooder(farm: Farm, today: date) -> int | None:
    taken = Stay.objects.filter(Q(end__isnull=True) | Q(end__gt=today), farm=farm)
    free = Housing.objects.filter(farm=farm, heated=True).exclude(pk__in=taken.values("housing_id"))
    free = free.filter(Q(in_service_from__isnull=True) | Q(in_service_from__lte=today))
    free = free.filter(Q(in_service_to__isnull=True) | Q(in_service_to__gt=today))
    return free.values_list("pk", flat=True).first()


class BatchEditForm(VersionedForm):
    """What may be changed of a batch. Its birds change by count entries, its places by stays."""

    name = forms.CharField(label=_("Name"), max_length=60)
    breed = forms.CharField(label=_("Breed"), required=False, max_length=60)
    sex = forms.ChoiceField(label=_("Sex"), choices=Sex.choices)
    source = forms.ChoiceField(label=_("Where from"), choices=BatchSource.choices)
    hatch_day = DayField(
        label=_("Hatch day"), help_text=_("Moving it moves every step that is not done yet.")
    )
    arrived_on = DayField(
        label=_("Arrives on"),
        help_text=_("Their first count entry and the stays that begin that day move along."),
    )
    leaves_on = DayField(label=_("Leaves on"), required=False)
    notes = _notes()

    @staticmethod
    def stored(batch: Batch) -> dict[str, Any]:
        """Return a batch's values for its form."""
        return {name: getattr(batch, name) for name in BatchEditForm.base_fields}
