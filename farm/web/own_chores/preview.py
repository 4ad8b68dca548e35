"""The next days a chore would be due, before it is saved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.phrase import Phrase
from farm.planning import repeats
from farm.web.own_chores.forms import OwnChoreForm

SHOWN = 5  # days; project default (judgement)


@dataclass(frozen=True, slots=True)
class Preview:
    """The next days, at most SHOWN; words: how often, None for once. last: none comes after these."""

    days: tuple[date, ...]
    words: Phrase | None
    last: bool


def of(form: OwnChoreForm, since: date) -> Preview | None:
    """Return the days from `since` on that a bound form says, None when it does not say any that can be read."""
    form.full_clean()
    if form.when_errors:
        return None
    start = form.cleaned_data["start"]
    if form.rule is None:
        return Preview((start,) if start >= since else (), None, True)
    left_out = frozenset(form.cleaned_data["exceptions"])
    found: list[date] = []
    after: date | None = since - timedelta(days=1)
    while after is not None and len(found) <= SHOWN:
        after = repeats.next_day(form.rule, start, after, left_out)
        found += [] if after is None else [after]
    return Preview(tuple(found[:SHOWN]), repeats.in_words(form.rule), len(found) <= SHOWN)
