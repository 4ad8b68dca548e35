"""The form that makes a calendar link."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from calendars import queries
from calendars.models import Scope
from farm.models import Member
from farm.models.member import Role
from farm.queries import members
from farm.web.access import Visit
from farm.web.forms import FarmForm


class LinkForm(FarmForm):
    """What the calendar shows, where it is used, and for whom. Only what there is a choice of is asked."""

    label = forms.CharField(
        label=_("Where will it be used?"),
        max_length=60,
        help_text=_("For example: my phone. So that you know later which one to switch off."),
    )
    scope = forms.ChoiceField(label=_("What does it show?"), choices=Scope.choices, widget=forms.RadioSelect)
    member_id = forms.TypedChoiceField(label=_("Whose is it?"), coerce=int)
    language = forms.ChoiceField(label=_("Language"), choices=())

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        initial = {"scope": Scope.MINE, "member_id": visit.member.pk, "language": get_language()}
        super().__init__(*args, farm=visit.farm, initial=initial, **kwargs)
        self.visit = visit
        self._offer("member_id", [(one.pk, one.name) for one in self._members()])
        self._offer("scope", [(one.value, one.label) for one in queries.scopes_for(visit.member)])
        self._offer("language", list(settings.LANGUAGES))

    def values(self) -> dict[str, Any]:
        """Return what the service is given: the typed values, and what there was no choice of."""
        return {"member_id": self.visit.member.pk} | super().values()

    def _offer(self, name: str, choices: list[tuple[Any, Any]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices
        if len(choices) < 2:
            del self.fields[name]

    def _members(self) -> list[Member]:
        if self.visit.member.role != Role.KEEPER:
            return [self.visit.member]
        return [row.member for row in members.present(self.visit.farm.pk, self.visit.by.now)]
