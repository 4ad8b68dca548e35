"""Forms beside the tables: a copy's name, what an edit is called and whom it moves, and the version for a batch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.models import Batch
from farm.web.forms import FarmForm, VersionedForm


class CopyForm(FarmForm):
    """A new name for a copy."""

    name = forms.CharField(label=_("Name of your copy"), max_length=80)


class EditForm(FarmForm):
    """What goes with a new version.

    number: the version the form was opened at. over: the newest version, once the keeper was told of it. seen: digest
    of what was looked at before saving.
    """

    note = forms.CharField(
        label=_("What is different, in a few words"),
        max_length=200,
        required=False,
        help_text=_("For the list of versions."),
    )
    move = forms.MultipleChoiceField(
        label=_("Move these batches to the new version"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("The others stay on the version they follow."),
    )
    number = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=1_000_000)
    over = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=1_000_000, required=False)
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, followers: Sequence[Batch], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        move = self.fields["move"]
        assert isinstance(move, forms.MultipleChoiceField)
        move.choices = [(str(batch.pk), f"{batch} ({batch.programme_version})") for batch in followers]
        if not followers:
            del self.fields["move"]

    def moved(self) -> list[int]:
        """Return the numbers of the batches to move."""
        return [int(number) for number in self.cleaned_data.get("move", [])]

    @property
    def expected_number(self) -> int:
        """Return the version that saving may follow."""
        return self.cleaned_data.get("over") or self.cleaned_data["number"]

    def say(self, **texts: str) -> None:
        """Change what is sent back in the hidden fields."""
        data = self.data.copy()  # type: ignore[attr-defined]  # a QueryDict
        for name, text in texts.items():
            data[name] = text
        self.data = data


class MoveForm(VersionedForm):
    """Another programme version for a batch."""

    to = forms.ChoiceField(label=_("Version to follow from now on"))
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, choices: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        to = self.fields["to"]
        assert isinstance(to, forms.ChoiceField)
        to.choices = choices

    def look_again(self) -> None:
        """Remember the choice as looked at, for the form that is sent back."""
        data = self.data.copy()  # type: ignore[attr-defined]  # a QueryDict
        data["seen"] = self.cleaned_data["to"]
        self.data = data
