"""What the farm's forms share: units at the edge, day pickers, the version a form was opened at."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from farm import units
from farm.models import Farm
from farm.phrase import Quantity


class DayInput(forms.DateInput):
    """The browser's own day picker; values are ISO days whatever the language."""

    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


class DayField(forms.DateField):
    """A farm-local day."""

    widget = DayInput

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("input_formats", ["%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y"])
        super().__init__(**kwargs)


class QuantityField(forms.FloatField):
    """A number typed in the farm's units and cleaned to SI; `unit` is the SI unit.

    The form tells it the farm's system through `FarmForm`.
    """

    def __init__(self, *, unit: str, digits: int = 3, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}))
        super().__init__(**kwargs)
        self.unit, self.digits, self.system = unit, digits, units.METRIC

    def clean(self, value: Any) -> Any:
        """Return the SI value; bounds given to the field are SI and are checked after converting."""
        typed = self.to_python(value)
        stored = None if typed is None else units.stored(typed, self.unit, self.system)
        self.validate(stored)  # type: ignore[arg-type]  # None is what it judges
        self.run_validators(stored)
        return stored

    def prepare_value(self, value: Any) -> Any:
        """Show a stored SI number in the farm's units; text that was typed stays as it was typed."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            shown = round(units.shown(Quantity(value, self.unit), self.system)[0], self.digits)
            return int(shown) if shown == int(shown) else shown
        return value


class FarmForm(forms.Form):
    """A form of one farm: labels carry units, and `version` remembers what the keeper saw.

    later: the fields that can wait, shown folded away until one is refused.
    """

    required_css_class = "required"
    error_css_class = "refused"
    later: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, farm: Farm, today: date | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.farm, self.today = farm, today
        for field in self.fields.values():
            if isinstance(field, QuantityField):
                field.system = farm.units
                field.label = f"{field.label} ({units.label(field.unit, farm.units)})"

    @property
    def first(self) -> list[forms.BoundField]:
        """Return the fields every keeper fills in, and those that were refused."""
        return [field for field in self.visible_fields() if field.name not in self.later or field.errors]

    @property
    def folded(self) -> list[forms.BoundField]:
        """Return the fields that can wait."""
        return [field for field in self.visible_fields() if field.name in self.later and not field.errors]

    def values(self) -> dict[str, Any]:
        """Return the cleaned values without the version."""
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class VersionedForm(FarmForm):
    """A form that changes a record: sends back the version it was opened at."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    @property
    def seen_version(self) -> int | None:
        """Return the version the form was opened at."""
        return self.cleaned_data.get("version")

    def see_again(self, version: int) -> None:
        """Take the record as seen at `version`: once the changes since are listed above it, saving again may go on."""
        data = self.data.copy() if isinstance(self.data, QueryDict) else dict(self.data)
        data[self.add_prefix("version")] = str(version)
        self.data = data


EMPTY_CHOICE = ("", _("— choose —"))
