"""The form of an order that repeats."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import OrderSeries
from farm.services.series import NewSeries
from farm.web.forms import DayField, VersionedForm
from farm.web.orders import fields


class SeriesForm(VersionedForm):
    """Who orders what, how often, and from when to when."""

    later = ("sex", "breed", "priority", "deposit", "notes")

    customer = fields.customer()
    birds = fields.birds()
    programme = fields.programme()
    age_from_days = fields.youngest()
    age_to_days = fields.oldest()
    every_weeks = forms.IntegerField(label=_("Every so many weeks"), min_value=1, max_value=52)
    first_on = DayField(label=_("First on"))
    last_on = DayField(label=_("Last on"))
    window_days = forms.IntegerField(
        label=_("Days to hand them over"),
        min_value=1,
        max_value=60,
        help_text=_("1: on that day only. 3: until two days later."),
    )
    sex = fields.sex()
    breed = fields.words(_("Breed"), 60, help_text=_("Empty: any."))
    priority = fields.priority()
    deposit = fields.deposit()
    notes = fields.notes()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_programme(self, self.farm)

    def clean(self) -> dict[str, Any]:
        """Judge ages and days together."""
        fields.check_ages(self)
        first, last = self.cleaned_data.get("first_on"), self.cleaned_data.get("last_on")
        if first and last and last < first:
            self.add_error("last_on", _("The last day must not be before the first."))
        return self.cleaned_data

    @property
    def unfold(self) -> bool:
        """Say whether a folded field says something."""
        return any(field.value() for field in self.folded if field.name in ("breed", "deposit", "notes"))

    def new(self) -> NewSeries:
        """Return what `series.add` is given."""
        return NewSeries(**self.values())

    @staticmethod
    def stored(series: OrderSeries) -> dict[str, Any]:
        """Return a series' values for its form."""
        found = {name: getattr(series, name) for name in SeriesForm.base_fields}
        return found | {"programme": fields.choice(series.programme)}


class EndForm(VersionedForm):
    """When a series ends."""

    last_on = DayField(label=_("Last on"), help_text=_("Orders after this day go; those before stay."))
