"""The forms about members: who they are, when they are away, their invitation and their links."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.models import Member
from farm.models.chore_mark import Round
from farm.models.farm import Weekday
from farm.models.member import ABILITIES, ROUND_NAMES, Role, all_rounds, round_code
from farm.queries import members
from farm.services.member_rules import MOST_SHARE, WEEK_MINUTES, starting
from farm.web.forms import DayField, FarmForm, VersionedForm


def _yes_or_no(label: Any, help_text: Any = "") -> forms.BooleanField:
    return forms.BooleanField(label=label, required=False, help_text=help_text)


def _chores(label: Any, help_text: Any) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label, required=False, widget=forms.CheckboxSelectMultiple, help_text=help_text
    )


class MemberForm(FarmForm):
    """A member's name and role, and what sharing the work asks: abilities, time, share, likes."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=Role.choices)
    adult = _yes_or_no(gettext_lazy("Adult, 18 or older"))
    can_heat = _yes_or_no(gettext_lazy("Heat equipment"), gettext_lazy("Lamps, heat plates and heaters."))
    can_lift = _yes_or_no(gettext_lazy("Lifting"), gettext_lazy("Feed bags, crates, litter."))
    can_water = _yes_or_no(gettext_lazy("Carrying water"))
    can_dose = _yes_or_no(gettext_lazy("Giving medicine"))
    can_slaughter = _yes_or_no(gettext_lazy("Slaughter"))
    rounds = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Is there for"), required=False, coerce=int, widget=forms.CheckboxSelectMultiple
    )
    max_week_minutes = forms.IntegerField(
        label=gettext_lazy("Minutes a week at most"),
        required=False,
        min_value=0,
        max_value=WEEK_MINUTES,
        help_text=gettext_lazy("For example 240 for four hours. Empty: no limit."),
    )
    share = forms.IntegerField(
        label=gettext_lazy("Share of the work (%)"),
        required=False,
        min_value=0,
        max_value=MOST_SHARE,
        help_text=gettext_lazy("100 is a full part, 50 half of one, 0 none. Empty: a full part."),
    )
    prefers = _chores(gettext_lazy("Likes to do"), gettext_lazy("Is given these first, where it is fair."))
    refuses = _chores(gettext_lazy("Does not do"), gettext_lazy("Is never given these."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chores = [(choice.key, choice.title) for choice in members.choices(self.farm.pk)]
        self._offer("prefers", chores)
        self._offer("refuses", chores)
        self._offer("rounds", [(code, _round_label(code)) for code in all_rounds()])

    def _offer(self, name: str, choices: list[tuple[Any, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = choices

    @classmethod
    def opening(cls, role: str) -> dict[str, Any]:
        """Return what the form of a new member of a role starts with; an unknown role starts as a helper."""
        role = role if role in Role.values else Role.HELPER
        return {"role": role, "rounds": all_rounds(), "share": 100} | starting(role)

    def clean_share(self) -> int:
        """Take an empty share as a full part."""
        share = self.cleaned_data["share"]
        return 100 if share is None else share

    @property
    def about(self) -> list[forms.BoundField]:
        """Return the fields that say who it is."""
        return [self["name"], self["role"]]

    @property
    def able(self) -> list[forms.BoundField]:
        """Return the boxes of the abilities."""
        return [self[column] for column in ABILITIES.values()]

    @property
    def week(self) -> list[tuple[str, list[forms.boundfield.BoundWidget]]]:
        """Return the weekdays as the farm counts them, each with the boxes of its rounds."""
        boxes = {int(box.data["value"]): box for box in self["rounds"].subwidgets}
        days = [(self.farm.first_weekday + n) % 7 for n in range(7)]
        return [
            (str(Weekday(day).label), [boxes[round_code(day, name)] for name in ROUND_NAMES]) for day in days
        ]

    @property
    def much(self) -> list[forms.BoundField]:
        """Return the fields that say how much they do."""
        return [self["max_week_minutes"], self["share"]]

    @property
    def likes(self) -> list[tuple[forms.BoundField, int]]:
        """Return the lists of chores, each with how many of it are chosen."""
        return [(self[name], len(self[name].value() or ())) for name in ("prefers", "refuses")]


class MemberChangeForm(MemberForm, VersionedForm):
    """The same, of a member who is there."""

    @classmethod
    def stored(cls, member: Member) -> dict[str, Any]:
        """Return the member as the form's initial values; chores that are gone are not among them."""
        known = {choice.key for choice in members.choices(member.farm_id)}
        found = {name: getattr(member, name) for name in cls.base_fields}
        return found | {name: [key for key in found[name] if key in known] for name in ("prefers", "refuses")}


def _round_label(code: int) -> str:
    weekday, place = divmod(code, 3)
    values = {"weekday": Weekday(weekday).label, "round": Round(ROUND_NAMES[place]).label}
    return _("%(weekday)s %(round)s") % values


class AwayForm(FarmForm):
    """Days away, as people say them: the last one is still away."""

    start = DayField(label=gettext_lazy("First day away"))
    end = DayField(
        label=gettext_lazy("Last day away"), required=False, help_text=gettext_lazy("Empty: that one day.")
    )
    note = forms.CharField(
        label=gettext_lazy("Note"),
        required=False,
        max_length=100,
        help_text=gettext_lazy("Everybody on the farm can read it."),
    )

    def values(self) -> dict[str, Any]:
        """Return what the service is given: the end is the first day they are back."""
        found = super().values()
        return found | {"end": (found["end"] or found["start"]) + timedelta(days=1)}


class LinkForm(FarmForm):
    """What a personal link is called."""

    label = forms.CharField(
        label=gettext_lazy("Where will it be used?"),
        max_length=60,
        help_text=gettext_lazy("For example: my phone. So that you know later which one to switch off."),
    )


class InviteForm(FarmForm):
    """Where the invitation may be sent, if anywhere."""

    email = forms.EmailField(
        label=gettext_lazy("E-mail"),
        required=False,
        max_length=254,
        help_text=gettext_lazy("Optional: sends the link as a letter. You can also hand it over yourself."),
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
