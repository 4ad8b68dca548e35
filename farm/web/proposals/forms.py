"""The fields of a proposal, numbered as the service names them: "sets-0-eggs"; and those of the rules."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import OrderingRules
from farm.models.farm import Weekday
from farm.planning.ordering import Proposal
from farm.services.counts import MOST_BIRDS
from farm.services.egg_set_rules import MOST_EGGS
from farm.services.proposals import Edit
from farm.web.forms import DayField, FarmForm, VersionedForm

MOST_COST = 1_000_000  # as the records allow


class AdoptForm(FarmForm):
    """How many, when, and what is left out, for each egg set and intake of a proposal."""

    def __init__(self, *args: Any, proposal: Proposal, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.proposal = proposal
        for lead, count, most in self._items():
            chicks = count == "birds"
            self.fields[f"{lead}-{count}"] = forms.IntegerField(
                label=_("Chicks") if chicks else _("Eggs"), min_value=1, max_value=most
            )
            self.fields[f"{lead}-day"] = DayField(label=_("Arrive on") if chicks else _("Set on"))
            self.fields[f"{lead}-out"] = forms.BooleanField(label=_("Leave this out"), required=False)

    @staticmethod
    def opening(proposal: Proposal) -> dict[str, Any]:
        """Return what is proposed, as the form starts with it."""
        found: dict[str, Any] = {}
        for place, one in enumerate(proposal.sets):
            found |= {f"sets-{place}-eggs": one.eggs, f"sets-{place}-day": one.set_on}
        for place, each in enumerate(proposal.intakes):
            found |= {f"intakes-{place}-birds": each.birds, f"intakes-{place}-day": each.day}
        return found

    def clean(self) -> dict[str, Any]:
        """Judge nothing of what is left out."""
        for lead, count, _most in self._items():
            if self.cleaned_data.get(f"{lead}-out"):
                for name in (f"{lead}-{count}", f"{lead}-day"):
                    self.errors.pop(name, None)
        return self.cleaned_data

    @property
    def edits(self) -> dict[str, Edit]:
        """Return what the service is given, by key of set and intake."""
        made = self.proposal
        keys = [*(one.key for one in made.sets), *(each.key for each in made.intakes)]
        return {
            key: Edit(
                left_out=self.cleaned_data[f"{lead}-out"],
                count=self.cleaned_data.get(f"{lead}-{count}"),
                day=self.cleaned_data.get(f"{lead}-day"),
            )
            for (lead, count, _most), key in zip(self._items(), keys, strict=True)
        }

    def _items(self) -> Iterator[tuple[str, str, int]]:
        """Yield the lead of the fields' names, the name of the number, and its most; sets first."""
        for place in range(len(self.proposal.sets)):
            yield f"sets-{place}", "eggs", MOST_EGGS
        for place in range(len(self.proposal.intakes)):
            yield f"intakes-{place}", "birds", MOST_BIRDS


def _days(label: Any) -> forms.TypedMultipleChoiceField:
    return forms.TypedMultipleChoiceField(
        label=label,
        required=False,
        coerce=int,
        choices=Weekday.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Tick none when any day is possible."),
    )


def _cost(label: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=MOST_COST)


class RulesForm(VersionedForm):
    """The farm's rules for proposals; how sure is typed in percent."""

    percent = forms.IntegerField(
        label=_("How sure an order should be met (%)"),
        min_value=50,
        max_value=99,
        help_text=_("Surer means more eggs, and more birds left over."),
    )
    set_weekdays = _days(_("Days for setting eggs"))
    hatch_weekdays = _days(_("Days for a hatch"))
    unmet_cost = _cost(_("A bird not delivered"))
    batch_cost = _cost(_("One more batch"))
    spare_cost = _cost(_("A bird nobody ordered"))

    @staticmethod
    def stored(rules: OrderingRules) -> dict[str, Any]:
        """Return the rules' values for the form."""
        same = ("set_weekdays", "hatch_weekdays", "unmet_cost", "batch_cost", "spare_cost", "version")
        return {name: getattr(rules, name) for name in same} | {"percent": round(100 * rules.confidence)}

    @property
    def rules(self) -> dict[str, Any]:
        """Return what the service is given."""
        found = self.values()
        found["confidence"] = found.pop("percent") / 100
        return found
