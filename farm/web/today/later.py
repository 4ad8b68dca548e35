"""How far a line can be put off, as its form offers it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models.chore_mark import Round
from farm.queries.agenda import Due
from farm.services import postponing

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Later:
    """The days from `first` to `last` that can be chosen, the one proposed, and the rounds: those still to come where
    there is but one day. round: the one proposed."""

    first: date
    last: date
    day: date
    rounds: Sequence[Round]
    round: Round

    @property
    def one_day(self) -> bool:
        """Say whether only the round can be chosen."""
        return self.first == self.last


def of(due: Due, today: date) -> Later | None:
    """Return how far an occurrence can be put off, None when it can't be any more."""
    item, last = due.item, postponing.latest_day(due.item, today)
    first = max(item.due, today)
    if not postponing.later_rounds(item, first):
        first += DAY
    if not due.open or first > last:
        return None
    rounds = postponing.later_rounds(item, first) if first == last else list(Round)
    return Later(
        first=first,
        last=last,
        day=min(max(item.due, today) + DAY, last),
        rounds=rounds,
        round=Round(item.round) if item.round in rounds else rounds[0],
    )
