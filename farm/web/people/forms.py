"""The forms about members."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import Member
from farm.models.member import Role
from farm.web.forms import FarmForm, VersionedForm


class MemberForm(FarmForm):
    """A member's name and role."""

    name = forms.CharField(label=_("Name"), max_length=80)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices, initial=Role.HELPER)


class MemberChangeForm(MemberForm, VersionedForm):
    """The same, of a member who is there."""

    @classmethod
    def stored(cls, member: Member) -> dict[str, Any]:
        """Return the member as the form's initial values."""
        return {"name": member.name, "role": member.role, "version": member.version}


class InviteForm(FarmForm):
    """Where the invitation may be sent, if anywhere."""

    email = forms.EmailField(
        label=_("E-mail"),
        required=False,
        max_length=254,
        help_text=_("Optional: sends the link as a letter. You can also hand it over yourself."),
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
