"""The form that makes an app password."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models.member import Role
from farm.queries import members
from farm.web.access import Visit
from farm.web.forms import FarmForm


class PasswordForm(FarmForm):
    """Where the password is used, and for keepers whose it is."""

    label = forms.CharField(
        label=_("Where will it be used?"),
        max_length=60,
        help_text=_("For example: my phone. So that you know later which one to switch off."),
    )
    member_id = forms.TypedChoiceField(label=_("Whose chores are ticked there?"), coerce=int)

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, farm=visit.farm, initial={"member_id": visit.member.pk}, **kwargs)
        self.visit = visit
        field = self.fields["member_id"]
        assert isinstance(field, forms.ChoiceField)
        # Who may make them for nobody else is not asked whose; a stranger's number typed in all the same is not read.
        if visit.member.role == Role.KEEPER:
            present = members.present(visit.farm.pk, visit.by.now)
            field.choices = [(row.member.pk, row.member.name) for row in present]
        else:
            del self.fields["member_id"]

    def values(self) -> dict[str, Any]:
        """Return what the service is given: what was typed, and the only choice there was."""
        return {"member_id": self.visit.member.pk} | super().values()
