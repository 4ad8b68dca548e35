"""The forms that ask what a calendar is to hold: for a link that keeps itself up to date, and for a copy."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.conf import settings
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from calendars import queries
from calendars.choices import (
    AHEAD_DAYS,
    LEAST_AHEAD_DAYS,
    MOST_AHEAD_DAYS,
    MOST_ALARM_MINUTES,
    MOST_PAST_DAYS,
    PAST_DAYS,
    Rounds,
    Scope,
)
from calendars.editions import Options
from farm.models import Batch, Housing, Member
from farm.models.member import Role
from farm.queries import members
from farm.web.access import Visit
from farm.web.forms import EMPTY_CHOICE, FarmForm
from farm.web.zones import ZoneField


class ScopeForm(FarmForm):
    """What a calendar holds. Only what there is a choice of is asked."""

    scope = forms.ChoiceField(label=_("What does it show?"), choices=Scope.choices, widget=forms.RadioSelect)
    housing_id = forms.TypedChoiceField(
        label=_("Which housing?"),
        coerce=int,
        empty_value=None,
        required=False,
        help_text=_("For “one housing”."),
    )
    batch_id = forms.TypedChoiceField(
        label=_("Which batch?"), coerce=int, empty_value=None, required=False, help_text=_("For “one batch”.")
    )
    rounds = forms.ChoiceField(
        label=_("Daily rounds"), choices=Rounds.choices, widget=forms.RadioSelect, required=False
    )

    def __init__(
        self,
        *args: Any,
        visit: Visit,
        initial: dict[str, Any],
        asked: Mapping[str, str] | None = None,
        **kwargs: Any,
    ) -> None:
        """Begin with what the page's address asked for, where it asked for anything."""
        begin = {name: asked[name] for name in ("scope", "housing_id", "batch_id") if asked and name in asked}
        initial = {"scope": Scope.MINE, "rounds": Rounds.TIMED} | initial | begin
        super().__init__(*args, farm=visit.farm, initial=initial, **kwargs)
        self.visit = visit
        scopes = queries.scopes_for(visit.member)
        self.offer("scope", [(one.value, one.label) for one in scopes])
        for scope, name, model in ((Scope.HOUSING, "housing_id", Housing), (Scope.BATCH, "batch_id", Batch)):
            rows = model._default_manager.filter(farm=visit.farm).order_by("name", "pk")
            known = list(rows.values_list("pk", "name")) if scope in scopes else []
            self.offer(name, [EMPTY_CHOICE, *known] if known else [])

    def offer(self, name: str, choices: list[tuple[Any, Any]]) -> None:
        """Offer choices for a field; where there is none, it is not asked."""
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices
        if len(choices) < 2:
            del self.fields[name]


class LinkForm(ScopeForm):
    """What the calendar shows, where it is used, for whom, and how it is written."""

    later: ClassVar[tuple[str, ...]] = (
        *("rounds", "alarm_minutes", "back_days", "ahead_days", "language", "zone"),
    )
    field_order = ("label", "scope", "housing_id", "batch_id", "member_id")

    label = forms.CharField(
        label=_("Where will it be used?"),
        max_length=60,
        help_text=_("For example: my phone. So that you know later which one to switch off."),
    )
    member_id = forms.TypedChoiceField(label=_("Whose is it?"), coerce=int)
    alarm_minutes = forms.IntegerField(
        label=_("Alarm, minutes before"),
        required=False,
        min_value=0,
        max_value=MOST_ALARM_MINUTES,
        help_text=_(
            "Empty: no alarms. What has no time rings before the morning round. Some apps leave alarms out, so never"
            " rely on them alone."
        ),
    )
    back_days = forms.IntegerField(
        label=_("Days back"), required=False, min_value=0, max_value=MOST_PAST_DAYS
    )
    ahead_days = forms.IntegerField(
        label=_("Days ahead"), required=False, min_value=LEAST_AHEAD_DAYS, max_value=MOST_AHEAD_DAYS
    )
    language = forms.ChoiceField(label=_("Language"), choices=())
    zone = ZoneField(
        required=False,
        help_text=_(
            "Empty: the farm's. Another one changes only how times are written, for an app that needs it."
        ),
    )

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        days = {"back_days": PAST_DAYS, "ahead_days": AHEAD_DAYS}
        initial = days | {"member_id": visit.member.pk, "language": get_language()}
        super().__init__(*args, visit=visit, initial=initial, **kwargs)
        self.offer("member_id", [(one.pk, one.name) for one in self._members()])
        self.offer("language", list(settings.LANGUAGES))
        if "look" in self.data:
            self.fields["label"].required = False

    def values(self) -> dict[str, Any]:
        """Return what the service is given: the typed values, and what there was no choice of."""
        typed = {"member_id": self.visit.member.pk} | super().values()
        names = ("zone", "alarm_minutes", "rounds", "back_days", "ahead_days")
        options = {name: typed.pop(name) for name in names}
        usual = {"rounds": Rounds.TIMED, "back_days": PAST_DAYS, "ahead_days": AHEAD_DAYS}
        for name, value in usual.items():
            options[name] = value if options[name] in (None, "") else options[name]
        return typed | {"options": Options(**options)}

    def _members(self) -> list[Member]:
        if self.visit.member.role != Role.KEEPER:
            return [self.visit.member]
        return [row.member for row in members.present(self.visit.farm.pk, self.visit.by.now)]
