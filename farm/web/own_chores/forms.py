"""The form of an own chore."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm import wording
from farm.models import Housing, OwnChore
from farm.models.chore_mark import Round
from farm.models.farm import Weekday
from farm.models.own_chore import Asks, Who
from farm.planning import repeats
from farm.planning.repeats import Repeat, RepeatError
from farm.queries import own_chores
from farm.services.own_chores import MOST_EXCEPTIONS
from farm.web.forms import DayField, VersionedForm
from farm.web.own_chores import repeating
from farm.web.own_chores.fields import DaysField, LinesField
from farm.web.own_chores.repeating import RepeatForm

_NEEDS = (
    ("heat", gettext_lazy("heat equipment")),
    ("lifting", gettext_lazy("lifting")),
    ("water", gettext_lazy("carrying water")),
    ("dosing", gettext_lazy("giving medicine")),
    ("slaughter", gettext_lazy("slaughter")),
)


def _number(value: str) -> int | None:
    return int(value) if value else None


class OwnChoreForm(VersionedForm, RepeatForm):
    """What, when, where and who. `repeat`, a rule written out, counts instead of the fields that say the same."""

    title = forms.CharField(
        label=gettext_lazy("What is to be done"),
        max_length=100,
        help_text=gettext_lazy("As you would say it: “Clean the nest boxes”."),
    )
    start = DayField(label=gettext_lazy("First day"))
    exceptions = DaysField(
        label=gettext_lazy("Not on"),
        rows=3,
        help_text=format_lazy(
            gettext_lazy("Days it is left out, one a line, such as 2031-12-24; at most {most}."),
            most=MOST_EXCEPTIONS,
        ),
    )
    repeat = forms.CharField(
        label=gettext_lazy("The rule, written out"),
        required=False,
        help_text=gettext_lazy(
            "As calendars write it: FREQ=WEEKLY;BYDAY=MO. It then counts instead of what is chosen above."
        ),
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
    )
    round = forms.ChoiceField(label=gettext_lazy("Round"), choices=Round.choices)
    housing_id = forms.TypedChoiceField(
        label=gettext_lazy("Housing"), required=False, coerce=_number, empty_value=None
    )
    place = forms.CharField(
        label=gettext_lazy("Or another place"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("For example: feed store."),
    )
    minutes = forms.IntegerField(label=gettext_lazy("Minutes"), min_value=1, max_value=600)
    who = forms.ChoiceField(label=gettext_lazy("Who may do it"), choices=Who.choices)
    needs = forms.MultipleChoiceField(
        label=gettext_lazy("Needs"),
        required=False,
        choices=_NEEDS,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("The rota gives it only to people who can."),
    )
    two_people = forms.BooleanField(label=gettext_lazy("Takes two people"), required=False)
    care = forms.BooleanField(
        label=gettext_lazy("The birds depend on it that day"),
        required=False,
        help_text=gettext_lazy(
            "Ticked: when it is missed it is passed on to somebody else the same day, and it can't wait for "
            "another. Not ticked: when it is missed it stays on the list until it is done or comes round again."
        ),
    )
    asks = forms.ChoiceField(
        label=gettext_lazy("Whoever did it is asked for"), required=False, choices=Asks.choices
    )
    checklist = LinesField(
        label=gettext_lazy("Checklist"), help_text=gettext_lazy("What belongs to it, one a line.")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rule: Repeat | None = None
        days = [(self.farm.first_weekday + n) % 7 for n in range(7)]
        weekdays = [(day, Weekday(day).label) for day in days]
        self._offer("weekdays", weekdays)
        self._offer("nth_weekday", weekdays)
        housings = Housing.objects.filter(farm=self.farm).values_list("pk", "name")
        self._offer("housing_id", [("", _("— none —")), *housings])

    def _offer(self, name: str, choices: list[tuple[Any, Any]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def clean(self) -> dict[str, Any]:
        """Read the rule; a field that has no say in it can't be wrong either."""
        typed = super().clean() or self.cleaned_data
        written = (typed.get("repeat") or "").strip()
        for name in repeating.FIELDS:
            if name in self.errors and (written or not self.matters(name)):
                del self.errors[name]
        if typed.get("housing_id") and (typed.get("place") or "").strip():
            self.add_error("place", _("Choose a housing or write a place, not both."))
        if written:
            self._read(written)
        else:
            self.check_ends()
            if not self.errors.keys() & {"repeats", *repeating.FIELDS}:
                self.rule = repeating.rule(typed)
        return typed

    def _read(self, written: str) -> None:
        try:
            self.rule = repeats.parse(written, self.cleaned_data.get("start"))
        except RepeatError as wrong:
            self.add_error("repeat", wording.say(wrong.phrase, self.farm.units))

    @property
    def repeats_by_rule(self) -> bool:
        """Say whether a written rule is in sight: typed, or refused."""
        return bool(self["repeat"].value() or self["repeat"].errors)

    @property
    def when_errors(self) -> list[tuple[str, str]]:
        """Return what keeps it from saying on which days it is due: the fields' labels, and what is wrong."""
        names = ("start", "repeats", *repeating.FIELDS, "exceptions", "repeat")
        return [(str(self[name].label), str(text)) for name in names for text in self.errors.get(name, ())]

    def values(self) -> dict[str, Any]:
        """Return what the service is given."""
        found = {
            name: value
            for name, value in super().values().items()
            if name not in ("repeats", *repeating.FIELDS)
        }
        found["repeat"] = "" if self.rule is None else repeats.write(self.rule)
        return found | ({"exceptions": []} if self.rule is None else {})

    @staticmethod
    def stored(chore: OwnChore) -> dict[str, Any]:
        """Return a chore's values for its form."""
        names = OwnChoreForm.base_fields.keys() - {"repeat", "exceptions", "repeats", *repeating.FIELDS}
        found = {name: getattr(chore, name) for name in names}
        found["exceptions"] = own_chores.exceptions(chore)
        return found | repeating.stored(own_chores.rule(chore))
