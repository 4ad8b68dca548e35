"""How a chore repeats, as the form's fields say it, and those fields of a rule that is stored."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farm.planning.repeats import COUNT_MOST, INTERVAL_MOST, Repeat
from farm.web.forms import DayField

ONCE = "once"
#: The ways to repeat, and the fields each has of its own.
USES = {
    ONCE: (),
    "daily": ("every",),
    "weekly": ("every", "weekdays"),
    "monthday": ("every", "monthday"),
    "nth": ("every", "nth", "nth_weekday"),
}
ENDS = {"never": (), "on": ("until",), "after": ("count",)}
#: All that say how it repeats; of no matter for a chore done once, or where a rule is written out.
FIELDS = ("every", "weekdays", "monthday", "nth", "nth_weekday", "ends", "until", "count")


class RepeatForm(forms.Form):
    """The fields that say how often, on which days, and until when."""

    repeats = forms.ChoiceField(
        label=gettext_lazy("Repeats"),
        initial=ONCE,
        choices=[
            (ONCE, gettext_lazy("once, on the first day")),
            ("daily", gettext_lazy("by days")),
            ("weekly", gettext_lazy("by weeks, on weekdays")),
            ("monthday", gettext_lazy("by months, on a date")),
            ("nth", gettext_lazy("by months, on a weekday")),
        ],
    )
    every = forms.IntegerField(
        label=gettext_lazy("Every so many days, weeks or months"),
        required=False,
        initial=1,
        min_value=1,
        max_value=INTERVAL_MOST,
        help_text=gettext_lazy("1: every one. 2: every second, counted from the first day."),
    )
    weekdays = forms.TypedMultipleChoiceField(
        label=gettext_lazy("On these weekdays"),
        required=False,
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("None ticked: the weekday of the first day."),
    )
    monthday = forms.TypedChoiceField(
        label=gettext_lazy("On this day of the month"),
        required=False,
        coerce=int,
        empty_value=None,
        choices=[
            ("", gettext_lazy("as the first day")),
            *((day, str(day)) for day in range(1, 32)),
            (-1, gettext_lazy("the last day")),
        ],
        help_text=gettext_lazy("In a month without a day 29, 30 or 31 it is left out."),
    )
    nth = forms.TypedChoiceField(
        label=gettext_lazy("On which of the month"),
        required=False,
        coerce=int,
        choices=[
            (1, gettext_lazy("the first")),
            (2, gettext_lazy("the second")),
            (3, gettext_lazy("the third")),
            (4, gettext_lazy("the fourth")),
            (-1, gettext_lazy("the last")),
        ],
    )
    nth_weekday = forms.TypedChoiceField(label=gettext_lazy("Weekday"), required=False, coerce=int)
    ends = forms.ChoiceField(
        label=gettext_lazy("Ends"),
        required=False,
        initial="never",
        choices=[
            ("never", gettext_lazy("never")),
            ("on", gettext_lazy("on a day")),
            ("after", gettext_lazy("after so many times")),
        ],
    )
    until = DayField(label=gettext_lazy("Last day"), required=False)
    count = forms.IntegerField(
        label=gettext_lazy("How many times"), required=False, min_value=1, max_value=COUNT_MOST
    )

    def matters(self, name: str) -> bool:
        """Say whether a field has a say in what else was chosen."""
        kind, ends = self._chosen("repeats", ONCE), self._chosen("ends", "never")
        if name in ("until", "count"):
            return kind != ONCE and name in ENDS.get(ends, ())
        return name not in FIELDS or name in USES.get(kind, ()) or (name == "ends" and kind != ONCE)

    def check_ends(self) -> None:
        """Put it at the field when the end that was chosen is not said."""
        chosen = self.cleaned_data.get("ends")
        missing = {"on": _("Choose the last day."), "after": _("Write how many times.")}
        for name in ENDS.get(chosen or "", ()):
            if self.matters(name) and name not in self.errors and self.cleaned_data.get(name) is None:
                self.add_error(name, missing[str(chosen)])

    def _chosen(self, name: str, otherwise: str) -> str:
        return str(self.data.get(self.add_prefix(name)) or otherwise)


def rule(typed: Mapping[str, Any]) -> Repeat | None:
    """Return the rule that cleaned fields say, None for once."""
    kind = typed["repeats"]
    if kind == ONCE:
        return None
    ends = typed.get("ends") or "never"
    return Repeat(
        "monthly" if kind in ("monthday", "nth") else kind,
        typed.get("every") or 1,
        weekdays=tuple(typed.get("weekdays") or ()) if kind == "weekly" else (),
        monthday=typed.get("monthday") if kind == "monthday" else None,
        nth=(typed.get("nth") or 1, typed.get("nth_weekday") or 0) if kind == "nth" else None,
        until=typed.get("until") if ends == "on" else None,
        count=typed.get("count") if ends == "after" else None,
    )


def stored(repeat: Repeat | None) -> dict[str, Any]:
    """Return the fields of a rule; `rule` makes the same of them again."""
    if repeat is None:
        return {"repeats": ONCE}
    kind: str = repeat.freq
    if repeat.freq == "monthly":
        kind = "monthday" if repeat.nth is None else "nth"
    found = {
        "repeats": kind,
        "every": repeat.interval,
        "weekdays": list(repeat.weekdays),
        "monthday": repeat.monthday,
        "ends": "on" if repeat.until else "after" if repeat.count else "never",
        "until": repeat.until,
        "count": repeat.count,
    }
    return found | (dict(zip(("nth", "nth_weekday"), repeat.nth, strict=True)) if repeat.nth else {})
