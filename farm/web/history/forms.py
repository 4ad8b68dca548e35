"""The filter above the history."""

from __future__ import annotations

from collections.abc import Mapping

from django import forms
from django.apps import apps
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.models import Farm, Member
from farm.queries import history


class FilterForm(forms.Form):
    """Which entries to show. Anything unknown in the address is taken as no filter."""

    about = forms.ChoiceField(label=gettext_lazy("About"), required=False)
    who = forms.ChoiceField(label=gettext_lazy("By"), required=False)
    ticks = forms.BooleanField(label=gettext_lazy("Ticks of chores too"), required=False)
    #: The number of one thing of the kind `about`: where the history link of a thing's own page leads.
    id = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1, max_value=2**62)

    def __init__(self, data: Mapping[str, str], farm: Farm) -> None:
        super().__init__(data, label_suffix="")
        kinds = {model._meta.model_name: model._meta.verbose_name_plural for model in apps.get_models()}
        about, who = self.fields["about"], self.fields["who"]
        assert isinstance(about, forms.ChoiceField)
        assert isinstance(who, forms.ChoiceField)
        about.choices = [
            ("", _("everything")),
            *((noun, kinds.get(noun, noun)) for noun in history.nouns(farm)),
        ]
        who.choices = [
            ("", _("everybody")),
            *((str(row.pk), row.name) for row in Member.objects.filter(farm=farm)),
        ]

    def chosen(self) -> dict[str, object]:
        """Return the arguments of `queries.history.about`."""
        self.is_valid()
        found = self.cleaned_data
        who = found.get("who")
        return {
            "noun": found.get("about", ""),
            "noun_id": found.get("id"),
            "member_id": int(who) if who else None,
            "ticks": bool(found.get("ticks")),
        }
