"""Forms of feed: the feed itself, and each line of its ledger."""

from __future__ import annotations

import secrets
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.models import Feed
from farm.models.farm import Weekday
from farm.queries import feed_kinds
from farm.services.feed_rules import LEAST_KG, MOST_BAGS, MOST_CENTS, MOST_KG
from farm.services.feeds import RANGES
from farm.trade import species
from farm.trade.general import figure
from farm.web.forms import EMPTY_CHOICE, DayField, FarmForm, QuantityField, VersionedForm

_CENTS = 100


def _whole(name: str, label: Any, help_text: Any, *, required: bool = True) -> forms.IntegerField:
    low, high = (int(end) for end in RANGES[name])
    return forms.IntegerField(
        label=label, min_value=low, max_value=high, help_text=help_text, required=required
    )


class FeedForm(VersionedForm):
    """A feed as it is bought."""

    name = forms.CharField(
        label=gettext_lazy("Name"), max_length=60, help_text=gettext_lazy("As it stands on the bag.")
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("Which feed it is"), help_text=gettext_lazy("As the rearing programmes call it.")
    )
    species = forms.MultipleChoiceField(
        label=gettext_lazy("Who eats it"),
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Tick only what the label allows: one species' feed can harm another."),
    )
    bag_kg = QuantityField(
        unit="kg",
        digits=2,
        label=gettext_lazy("Weight of a bag"),
        validators=[MinValueValidator(RANGES["bag_kg"][0]), MaxValueValidator(RANGES["bag_kg"][1])],
        help_text=gettext_lazy("Big bags too. Loose feed: the weight you usually take."),
    )
    lead_days = _whole("lead_days", gettext_lazy("Days from ordering to delivery"), "")
    delivery_weekdays = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Delivery days"),
        required=False,
        coerce=int,
        choices=Weekday.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Tick none when any day is possible."),
    )
    keeps_days = _whole(
        "keeps_days",
        gettext_lazy("Days it keeps from milling"),
        gettext_lazy("Empty: as usual."),
        required=False,
    )
    medicated = forms.BooleanField(
        label=gettext_lazy("Medicated: it holds a medicine, a coccidiostat too"), required=False
    )
    wait_days = _whole(
        "wait_days",
        gettext_lazy("Days to wait before meat or eggs"),
        gettext_lazy("Copy them from the label or ask your vet; nobody here knows them."),
        required=False,
    )
    notes = forms.CharField(
        label=gettext_lazy("Notes"), required=False, max_length=2000, widget=forms.Textarea({"rows": 3})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind, eaters = self.fields["kind"], self.fields["species"]
        assert isinstance(kind, forms.ChoiceField)
        assert isinstance(eaters, forms.ChoiceField)
        names = feed_kinds.names(self.farm.pk)
        stored = self.initial.get("kind")
        if stored and stored not in names:
            names = [stored, *names]  # a programme was edited since: the feed is what it was
        kind.choices = [EMPTY_CHOICE, *((name, _(name)) for name in names)]
        eaters.choices = [(key, _(one.name)) for key, one in species.species().items()]

    @staticmethod
    def stored(feed: Feed) -> dict[str, Any]:
        """Return a feed's values for its form."""
        return {name: getattr(feed, name) for name in FeedForm.base_fields}

    @staticmethod
    def usual(kind: str, eater: str) -> dict[str, Any]:
        """Return what a new feed starts with."""
        return {
            "kind": kind,
            "species": [eater] if eater else [],
            "bag_kg": figure("feed", "bag_kg"),
            "lead_days": int(figure("feed", "lead_days")),
        }


class LineForm(FarmForm):
    """What every line of a ledger has. `client_key` makes a form sent twice one line."""

    day = DayField(label=gettext_lazy("Day"))
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=200)
    client_key = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)

    @staticmethod
    def opening(today: date) -> dict[str, Any]:
        """Return what a line starts with."""
        return {"day": today, "client_key": secrets.token_urlsafe(18)}


class BuyForm(LineForm):
    """Feed that was bought."""

    bags = forms.IntegerField(label=gettext_lazy("Bags"), required=False, min_value=1, max_value=MOST_BAGS)
    kg = QuantityField(
        unit="kg",
        label=gettext_lazy("Or its weight, when it is loose"),
        required=False,
        validators=[MinValueValidator(LEAST_KG), MaxValueValidator(MOST_KG)],
    )
    milled_on = DayField(
        label=gettext_lazy("Milled on"),
        required=False,
        help_text=gettext_lazy("The date on the bag, if it has one: from then on it ages."),
    )
    price = forms.DecimalField(
        label=gettext_lazy("Price of all of it"),
        required=False,
        min_value=Decimal(0),
        max_value=Decimal(MOST_CENTS) / _CENTS,
        decimal_places=2,
        widget=forms.NumberInput({"step": "0.01", "inputmode": "decimal"}),
        help_text=gettext_lazy("In your own money; leave it empty if you don't know."),
    )
    field_order = ("bags", "kg", "day", "milled_on", "price", "note")

    def bought(self) -> dict[str, Any]:
        """Return what the service is given."""
        values = self.values()
        price = values.pop("price")
        return values | {"price_cents": None if price is None else int(price * _CENTS)}


class OpenForm(LineForm):
    """Bags that were opened."""

    bags = forms.IntegerField(label=gettext_lazy("Bags"), initial=1, min_value=1, max_value=MOST_BAGS)
    field_order = ("bags", "day", "note")


class SpoilForm(LineForm):
    """Unopened feed thrown away."""

    kg = QuantityField(
        unit="kg",
        label=gettext_lazy("Thrown away"),
        validators=[MinValueValidator(LEAST_KG), MaxValueValidator(MOST_KG)],
    )
    field_order = ("kg", "day", "note")


class CountForm(LineForm):
    """What stands unopened in the store, counted by somebody."""

    kg = QuantityField(
        unit="kg",
        label=gettext_lazy("Unopened in the store"),
        validators=[MinValueValidator(0), MaxValueValidator(MOST_KG)],
        help_text=gettext_lazy("All unopened bags together, at the end of that day."),
    )
    field_order = ("kg", "day", "note")
