"""The forms of the climate: twelve months of numbers, a daily record with what was asked of it, and the choices."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dates import MONTHS, MONTHS_AP
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.husbandry.weather_record import Answers, Question
from farm.models import Weather
from farm.queries.weather import MONTHLY
from farm.trade.general import figure
from farm.web.forms import EMPTY_CHOICE, QuantityField, VersionedForm
from farm.web.imports.decoding import MOST_BYTES, clean, text_of

#: What a month's four numbers are called.
COLUMNS = {
    "low_mean_c": gettext_lazy("Night low, mean"),
    "low_sd_c": gettext_lazy("Its spread"),
    "high_mean_c": gettext_lazy("Day high, mean"),
    "high_sd_c": gettext_lazy("Its spread"),
}


@dataclass(frozen=True, slots=True)
class MonthRow:
    """One line of the table: a month's name and its four fields."""

    name: str
    fields: list[forms.BoundField]


class MonthsForm(VersionedForm):
    """Twelve means and spreads of the nights' lows and the days' highs."""

    @property
    def rows(self) -> list[MonthRow]:
        """Return the months with their fields."""
        return [
            MonthRow(str(name), [self[f"{column}_{month}"] for column in MONTHLY])
            for month, name in MONTHS_AP.items()  # short enough for a phone
        ]

    @property
    def columns(self) -> list[str]:
        """Return the headings of the four numbers."""
        return [str(COLUMNS[name]) for name in MONTHLY]

    @property
    def wrong(self) -> list[tuple[str, str]]:
        """Return the refused numbers as (label, message): a table has no room for them beside the boxes."""
        return [
            (str(self.fields[name].label), " ".join(map(str, texts)))
            for name, texts in self.errors.items()
            if name in self.fields
        ]

    def months(self) -> dict[str, list[float]]:
        """Return the numbers as the service takes them."""
        return {name: [self.cleaned_data[f"{name}_{month}"] for month in MONTHS] for name in MONTHLY}

    @staticmethod
    def stored(row: Weather | None) -> dict[str, Any]:
        """Return a climate as initial values; without one, usual spreads and no means."""
        if row is None:
            usual = figure("outdoors", "spread_usual_c")
            return {f"{name}_{month}": usual for name in MONTHLY if name.endswith("sd_c") for month in MONTHS}
        values = {f"{name}_{month}": getattr(row, name)[month - 1] for name in MONTHLY for month in MONTHS}
        return values | {"version": row.version}


def _number(name: str, month: int) -> QuantityField:
    unit = "degC" if name.endswith("mean_c") else "delta_degC"
    label = format_lazy("{month}, {column}", month=MONTHS[month], column=COLUMNS[name])
    return QuantityField(unit=unit, digits=1, label=label)


MonthsForm.base_fields |= {f"{name}_{month}": _number(name, month) for month in MONTHS for name in MONTHLY}


class RecordForm(VersionedForm):
    """A table of days, from a file or pasted, and the answers to what can be read two ways."""

    file = forms.FileField(
        label=gettext_lazy("A file (.csv)"),
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv,text/plain"}),
    )
    text = forms.CharField(
        label=gettext_lazy("… or paste the table"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocomplete": "off"}),
        help_text=gettext_lazy(
            "A line for each day: the day, its lowest and its highest temperature. The first line names the columns."
        ),
    )
    unit = forms.ChoiceField(
        label=gettext_lazy("Read the numbers as"),
        required=False,
        choices=[EMPTY_CHOICE, ("C", "°C"), ("F", "°F")],
    )
    order = forms.ChoiceField(
        label=gettext_lazy("In the dates comes first"),
        required=False,
        choices=[EMPTY_CHOICE, ("yes", gettext_lazy("the day")), ("no", gettext_lazy("the month"))],
    )
    swapped = forms.ChoiceField(
        label=gettext_lazy("The two columns"),
        required=False,
        choices=[
            EMPTY_CHOICE,
            ("yes", gettext_lazy("change places")),
            ("no", gettext_lazy("stay as they are")),
        ],
    )
    _ASKED = ("unit", "order", "swapped")

    def clean(self) -> dict[str, Any]:
        """Let a file go before what is in the box, and show its text there. Raises ValidationError."""
        cleaned = super().clean() or self.cleaned_data
        file = cleaned.get("file")
        text = text_of(file.read(MOST_BYTES + 1)) if file else clean(cleaned.get("text") or "")
        if len(text.encode()) > MOST_BYTES or (file and file.size > MOST_BYTES):
            raise ValidationError({"text": _("This is more than 1 MB. Give fewer years.")})
        if not text.strip():
            raise ValidationError({"text": _("Paste a table or choose a file.")})
        cleaned["text"] = text
        self.data = dict(self.data.items()) | {"text": text}
        return cleaned

    def answers(self) -> Answers:
        """Return what was answered so far."""
        said = {"yes": True, "no": False, "": None}
        values = self.cleaned_data
        return Answers(values["unit"] or None, said[values["order"]], said[values["swapped"]])

    def ask(self, questions: tuple[Question, ...] = ()) -> None:
        """Keep the boxes of these questions, and of those already answered; leave the others out."""
        asked = {each.about for each in questions}
        for name in self._ASKED:
            if name not in asked and not self.data.get(name):
                self.fields.pop(name, None)


class ChoicesForm(VersionedForm):
    """How sure a night must be, and whether a weather service is asked."""

    sure = forms.FloatField(
        label=gettext_lazy("How sure each of the next nights must be (%)"),
        min_value=50,
        max_value=99.9,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
        help_text=gettext_lazy("90 is usual. A higher number keeps birds in for longer."),
    )
    use_forecast = forms.BooleanField(
        label=gettext_lazy("Ask a weather service for the coming days"),
        required=False,
        help_text=gettext_lazy("It is told where the farm is, to about a kilometre, and nothing else."),
    )

    @staticmethod
    def stored(row: Weather) -> dict[str, Any]:
        """Return a climate's choices as initial values."""
        sure = round(row.confidence * 100, 1)
        return {
            "version": row.version,
            "sure": int(sure) if sure == int(sure) else sure,
            "use_forecast": row.use_forecast,
        }
