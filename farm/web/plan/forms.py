"""The question before an order, and one form for each change a keeper may try."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import Farm
from farm.models.housing import HousingKind
from farm.planning.problem import Problem
from farm.queries import asking, kinds, programmes
from farm.services.counts import MOST_BIRDS
from farm.web.forms import EMPTY_CHOICE, DayField, FarmForm, QuantityField

#: Chicks are asked about as the headroom table counts them: on the day they hatch.
USUAL_AGE = 0
_OLDEST = 400


def types(farm: Farm) -> list[tuple[str, Any]]:
    """Return the types to choose from: those in use first, then all by species."""
    mine = kinds.in_use(farm.pk)
    found: list[tuple[str, Any]] = [(str(_("On your farm")), mine)] if mine else []
    taken = {choice for choice, _name in mine}
    for species, rows in programmes.by_species(farm.pk):
        rest = [row for row in rows if row[0] not in taken]
        found += [(species, rest)] if rest else []
    return found


class AskForm(FarmForm):
    """How many more of a type on a day?"""

    birds = forms.IntegerField(
        label=_("How many more"),
        required=False,
        min_value=1,
        max_value=MOST_BIRDS,
        widget=forms.NumberInput(attrs={"placeholder": _("as many as fit")}),
    )
    type = forms.ChoiceField(label=_("of what"))
    day = DayField(label=_("arriving on"))
    use_required_attribute = False
    required_css_class = ""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["type"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = types(self.farm)

    def clean_day(self) -> date:
        """Return the day, of the year ahead."""
        day: date = self.cleaned_data["day"]
        assert self.today is not None
        if not self.today <= day <= asking.last_day(self.today):
            text = _("Choose a day from today to a year ahead.")
            raise forms.ValidationError(text)
        return day


class ChangeForm(FarmForm):
    """A change to try. `kind` names it; `title` is what a keeper calls it; `button` tries it."""

    kind: ClassVar[str]
    title: ClassVar[Any]

    def __init__(self, *args: Any, problem: Problem, **kwargs: Any) -> None:
        kwargs.setdefault("prefix", None)
        kwargs.setdefault("auto_id", f"id_{self.kind}_%s")
        super().__init__(*args, **kwargs)
        self.problem = problem
        for name, choices in self.choices().items():
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [EMPTY_CHOICE, *choices]

    def choices(self) -> Mapping[str, Sequence[tuple[str, Any]]]:
        """Return what the choice fields offer, by field."""
        return {name: self.offered(name) for name in ("batch", "housing") if name in self.fields}

    def offered(self, name: str) -> list[tuple[str, Any]]:
        """Return the problem's batches or housings."""
        rows = self.problem.batches if name == "batch" else self.problem.housings
        return [(row.key, row.name) for row in rows]

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order: each of these pairs begins before it ends."""
        given: dict[str, Any] = super().clean() or self.cleaned_data
        for first, last in (("start", "end"), ("day", "leaves")):
            start, end = given.get(first), given.get(last)
            if start is not None and end is not None and end <= start:
                self.add_error(last, _("This day must come after the first."))
        return given

    def clean_day(self) -> date:
        """Return the day of an arrival, which is still to come."""
        day: date = self.cleaned_data["day"]
        assert self.today is not None
        if day < self.today:
            raise forms.ValidationError(_("Choose today or a later day."))
        return day

    @property
    def impossible(self) -> bool:
        """Say whether there is nothing on the farm that the change could be about."""
        return any(not found for found in self.choices().values())


class AddBatchForm(ChangeForm):
    """A batch that does not exist yet."""

    kind, title = "add_batch", _("Add a batch")
    type = forms.ChoiceField(label=_("What"))
    birds = forms.IntegerField(label=_("Birds"), min_value=1, max_value=MOST_BIRDS)
    day = DayField(label=_("Arrive on"))
    age_days = forms.IntegerField(
        label=_("Days old then"), min_value=0, max_value=_OLDEST, initial=USUAL_AGE, required=False
    )
    leaves = DayField(label=_("Leave on"), required=False, help_text=_("Leave empty if they stay."))

    def choices(self) -> Mapping[str, Sequence[tuple[str, Any]]]:
        """Return the types."""
        return {"type": types(self.farm)}


class MoveArrivalForm(ChangeForm):
    """Another arrival day for a batch that is not here yet."""

    kind, title = "move_arrival", _("Move an arrival")
    batch = forms.ChoiceField(label=_("Batch"))
    day = DayField(label=_("Arrives on instead"))

    def offered(self, name: str) -> list[tuple[str, Any]]:
        """Return the batches that are yet to come."""
        return [(row.key, row.name) for row in self.problem.batches if not row.history]


class ChangeBirdsForm(ChangeForm):
    """Another number of birds."""

    kind, title = "change_birds", _("Change how many birds")
    batch = forms.ChoiceField(label=_("Batch"))
    birds = forms.IntegerField(label=_("Birds instead"), min_value=1, max_value=MOST_BIRDS)


class AddHousingForm(ChangeForm):
    """A housing that does not exist yet."""

    kind, title = "add_housing", _("Add a housing")
    name = forms.CharField(label=_("Name"), max_length=60)
    what = forms.ChoiceField(
        label=_("Kind"),
        choices=HousingKind.choices,
    )
    area_m2 = QuantityField(label=_("Floor area"), unit="m2", min_value=0.01, max_value=5000)
    heated = forms.BooleanField(label=_("Has heat"), required=False)
    start = DayField(label=_("In use from"), required=False, help_text=_("Leave empty for from now on."))
    end = DayField(label=_("Until (not including)"), required=False)


class LoseHousingForm(ChangeForm):
    """A housing that cannot be used."""

    kind, title = "lose_housing", _("Lose a housing")
    housing = forms.ChoiceField(label=_("Housing"))
    start = DayField(label=_("Out of use from"))
    end = DayField(
        label=_("Until (not including)"), required=False, help_text=_("Leave empty if it is gone for good.")
    )


class PinStayForm(ChangeForm):
    """A batch held in one housing."""

    kind, title = "pin_stay", _("Pin a batch to a housing")
    batch = forms.ChoiceField(label=_("Batch"))
    housing = forms.ChoiceField(label=_("Housing"))
    start = DayField(label=_("From"))
    end = DayField(label=_("Until (not including)"))


class ForbidHousingForm(ChangeForm):
    """A batch kept out of one housing."""

    kind, title = "forbid_housing", _("Keep a batch out of a housing")
    batch = forms.ChoiceField(label=_("Batch"))
    housing = forms.ChoiceField(label=_("Housing"))


FORMS: tuple[type[ChangeForm], ...] = (
    AddBatchForm, MoveArrivalForm, ChangeBirdsForm, AddHousingForm, LoseHousingForm, PinStayForm, ForbidHousingForm,
)  # fmt: skip
BY_KIND: Mapping[str, type[ChangeForm]] = {form.kind: form for form in FORMS}


def opened(
    farm: Farm, problem: Problem, today: date, given: Mapping[str, str] | None = None
) -> list[ChangeForm]:
    """Return every form that could say something here. given: what the address asks the first to start with."""
    start: dict[str, Any] = {"day": today, "start": today, "age_days": USUAL_AGE} | dict(given or {})
    found = [form(farm=farm, today=today, problem=problem, initial=start) for form in FORMS]
    return [form for form in found if not form.impossible]
