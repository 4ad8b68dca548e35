"""Forms of an egg set: eggs set, changed, candled and hatched."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.models import EggSet, Farm, Machine
from farm.models.egg_set import EggSetState
from farm.models.machine import MachineWork
from farm.services.egg_set_rules import MOST_EGGS
from farm.services.egg_sets import NewEggSet
from farm.web.forms import DayField, FarmForm, VersionedForm
from farm.web.hatching import fields
from farm.web.hatching.fields import number_or_none, words

_AFTERWARDS = ("name", "breed", "storage", "origin", "notes", "version")


def _eggs() -> forms.IntegerField:
    return forms.IntegerField(label=_("Eggs"), min_value=1, max_value=MOST_EGGS)


def _set_on() -> DayField:
    return DayField(label=_("Set on"), help_text=_("The day they go into the machine. May lie ahead."))


def _hour() -> forms.TimeField:
    widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})
    return forms.TimeField(
        label=_("Set at (hour)"), required=False, widget=widget, help_text=_("Empty: noon.")
    )


def _stored() -> forms.IntegerField:
    return forms.IntegerField(
        label=_("Days stored"), min_value=0, help_text=_("Age of the oldest egg on the day they are set.")
    )


def _reason() -> forms.CharField:
    return words(
        _("Reason, if they were stored too long"),
        100,
        help_text=_("Only for eggs so old that few hatch. It is kept with the set."),
    )


class _SetForm(VersionedForm):
    """What a new and a changed egg set share."""

    def clean(self) -> dict[str, Any]:
        """Put day and hour together to an instant."""
        found = super().clean() or {}
        if found.get("set_on"):
            found["set_at"] = fields.instant(self.farm, found["set_on"], found.pop("set_hour", None))
        return found


class EggSetForm(_SetForm):
    """Eggs to set."""

    later = ("set_hour", "storage", "storage_reason", "origin", "breed", "name", "notes")

    programme = forms.ChoiceField(label=_("Species and type"))
    eggs = _eggs()
    set_on = _set_on()
    stored_days = _stored()
    setter_id = number_or_none(label=_("Machine"))
    hatcher_id = number_or_none(
        label=_("They hatch in"), help_text=_("Only for a setter, whose eggs move to a hatcher.")
    )
    housing_id = number_or_none(
        label=_("Where the chicks go"), help_text=_("May wait; the plan can find them a place.")
    )
    set_hour = _hour()
    storage = words(_("How they were stored"), 100)
    storage_reason = _reason()
    origin = words(_("Where the eggs come from"), 100)
    breed = words(_("Breed"), 60)
    name = words(_("Name"), 60, help_text=_("Empty: the next of E1, E2, E3 …"))
    notes = fields.notes()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_programme(self, self.farm)
        fields.choose_machines(self, self.farm)
        fields.choose_housing(self, self.farm, gettext("not known yet"))

    @property
    def unfold(self) -> bool:
        """Say whether something was typed into a folded field."""
        return self.is_bound and any(field.value() for field in self.folded)

    def new(self) -> NewEggSet:
        """Return what `egg_sets.set_eggs` is given."""
        return NewEggSet(**self.values())


class EggSetEditForm(_SetForm):
    """What may be changed of an egg set; of one that is over its words alone."""

    name = forms.CharField(label=_("Name"), max_length=60)
    eggs = _eggs()
    set_on = _set_on()
    set_hour = _hour()
    stored_days = _stored()
    storage = words(_("How they were stored"), 200)
    storage_reason = _reason()
    setter_id = forms.TypedChoiceField(label=_("Machine"), coerce=int)
    hatcher_id = number_or_none(label=_("They hatch in"))
    origin = words(_("Where the eggs come from"), 100)
    breed = words(_("Breed"), 60)
    notes = fields.notes()

    def __init__(self, *args: Any, egg_set: EggSet, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_machines(self, self.farm)
        if egg_set.state != EggSetState.OPEN:
            for name in set(self.fields) - set(_AFTERWARDS):
                del self.fields[name]

    @staticmethod
    def stored(egg_set: EggSet) -> dict[str, Any]:
        """Return an egg set's values for its form."""
        names = ("name", "eggs", "set_on", "stored_days", "storage", "setter_id", "origin", "breed", "notes")
        same = egg_set.hatcher_id == egg_set.setter_id
        return {name: getattr(egg_set, name) for name in (*names, "version")} | {
            "hatcher_id": "" if same else egg_set.hatcher_id,
            "set_hour": fields.local(egg_set.farm, egg_set.set_at).time(),
        }

    def changes(self) -> dict[str, Any]:
        """Return what `egg_sets.change` is given."""
        found = self.values()
        if "setter_id" in found and found["hatcher_id"] is None:
            found["hatcher_id"] = found["setter_id"]
        if found.get("set_at", "") is None:
            del found["set_at"]
        return found


class CandleForm(FarmForm):
    """What candling showed. `client_key` makes a form sent twice one record."""

    clear = forms.IntegerField(label=_("Clear (no germ)"), min_value=0, required=False)
    early_dead = forms.IntegerField(label=_("Early dead (blood ring)"), min_value=0, required=False)
    quitter = forms.IntegerField(label=_("Quitters (died later)"), min_value=0, required=False)
    broken = forms.IntegerField(label=_("Broken or taken out"), min_value=0, required=False)
    day = DayField(label=_("Day"))
    client_key = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    @staticmethod
    def opening(today: date) -> dict[str, Any]:
        """Return what a new record starts with."""
        return {"day": today, "client_key": secrets.token_urlsafe(18)}

    @property
    def counts(self) -> dict[str, int]:
        """Return the eggs typed, by kind."""
        kinds = ("clear", "early_dead", "quitter", "broken")
        return {kind: self.cleaned_data.get(kind) or 0 for kind in kinds}


class HatchForm(VersionedForm):
    """How a set hatched."""

    hatched = forms.IntegerField(
        label=_("Chicks hatched"), min_value=0, help_text=_("With those that were put down. 0 when none did.")
    )
    day = DayField(label=_("Hatch day"), help_text=_("Their age counts from here."))
    housing_id = number_or_none(label=_("Where they are"))
    culled = forms.IntegerField(label=_("Of them put down at once"), min_value=0, required=False)
    pipped = forms.IntegerField(label=_("Pipped, not out"), min_value=0, required=False)
    quitters = forms.IntegerField(label=_("Died in the shell"), min_value=0, required=False)
    clear = forms.IntegerField(label=_("Clear, found only now"), min_value=0, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_housing(self, self.farm, gettext("where they are planned"))

    @property
    def found(self) -> dict[str, Any]:
        """Return what `hatches.record` is given; empty numbers are 0."""
        numbers = ("culled", "pipped", "quitters", "clear")
        return self.values() | {name: self.cleaned_data.get(name) or 0 for name in numbers}


def opening(farm: Farm, today: date) -> dict[str, Any]:
    """Return what a new egg set starts with: today, the type set last, and a machine where there is one only."""
    last = EggSet.objects.filter(farm=farm).select_related("programme_version__programme").last()
    programme = last.programme_version.programme if last else None
    sets = list(Machine.objects.filter(farm=farm, does__in=fields.SETS))
    hatchers = list(Machine.objects.filter(farm=farm, does=MachineWork.HATCHER))
    start: dict[str, Any] = {"set_on": today, "stored_days": 0}
    if programme is not None:
        start["programme"] = str(programme.pk) if programme.edited else programme.built_in
    if len(sets) == 1:
        start["setter_id"] = sets[0].pk
        if sets[0].does == MachineWork.SETTER and len(hatchers) == 1:
            start["hatcher_id"] = hatchers[0].pk
    return start
