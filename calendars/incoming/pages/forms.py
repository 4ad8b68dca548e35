"""The forms about calendars read for days away."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from calendars.incoming.models import MOST_HOURS, Counts, OuterCalendar
from farm.models import Member
from farm.models.member import Role
from farm.queries import members
from farm.web.access import Visit
from farm.web.forms import VersionedForm


class RulesForm(VersionedForm):
    """What of a calendar counts."""

    label = forms.CharField(
        label=_("What is it called?"),
        max_length=60,
        help_text=_("For example: school. Everybody on the farm reads it beside the days away."),
    )
    counts = forms.ChoiceField(
        label=_("What makes a day away?"),
        choices=Counts.choices,
        widget=forms.RadioSelect,
        initial=Counts.DAYS,
    )
    least_hours = forms.IntegerField(
        label=_("Entries with times count from how many hours on?"),
        required=False,
        initial=4,
        min_value=1,
        max_value=MOST_HOURS,
        help_text=_("They count only while one of the member's rounds begins; the whole day is then away."),
    )
    words = forms.CharField(
        label=_("Only entries with these words"),
        required=False,
        max_length=200,
        help_text=_("One of them in the title is enough. Commas between: trip, holidays. Empty: all."),
    )
    without = forms.CharField(
        label=_("No entries with these words"),
        required=False,
        max_length=200,
        help_text=_("For example: birthday, bin day."),
    )

    def clean_least_hours(self) -> int:
        """Take an empty number as four hours."""
        return self.cleaned_data["least_hours"] or 4

    @classmethod
    def stored(cls, calendar: OuterCalendar) -> dict[str, Any]:
        """Return a calendar as the form's initial values."""
        return {name: getattr(calendar, name) for name in cls.base_fields}


class NewForm(RulesForm):
    """A calendar to be read: where it is, and whose."""

    address = forms.CharField(
        label=_("Address of the calendar"),
        max_length=2000,
        widget=forms.URLInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        help_text=_(
            "Begins with https:// or webcal://. Look in the other calendar for “share” or “secret address”."
        ),
    )
    member_id = forms.TypedChoiceField(label=_("Whose days away does it tell?"), coerce=int)
    field_order = ("address", "member_id")

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, farm=visit.farm, initial={"member_id": visit.member.pk}, **kwargs)
        self.visit = visit
        choices = [(one.pk, one.name) for one in self._members()]
        field = self.fields["member_id"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices
        if len(choices) < 2:
            del self.fields["member_id"]
        del self.fields["version"]

    def values(self) -> dict[str, Any]:
        """Return what the service is given: the typed values, and the member where there was no choice."""
        return {"member_id": self.visit.member.pk} | super().values()

    def _members(self) -> list[Member]:
        if self.visit.member.role != Role.KEEPER:
            return [self.visit.member]
        return [row.member for row in members.present(self.visit.farm.pk, self.visit.by.now)]
