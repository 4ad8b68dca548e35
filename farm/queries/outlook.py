"""How a farm's plan looks as its rows stand: held against itself after a change, it says what the change does."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch, Farm
from farm.phrase import Phrase
from farm.planning.window import Window
from farm.queries import agenda, occupancy

#: How far ahead shortfalls are looked for: hatch days may lie this far ahead. Project default (judgement).
DAYS_AHEAD = 400
#: How far ahead the next steps of a batch are listed. Project default (judgement).
STEP_DAYS = 60

BreachKey = tuple[str, str, date, date, float, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Step:
    """One dated step of a batch."""

    due: date
    title: Phrase


@dataclass(frozen=True, slots=True)
class Outlook:
    """What breaks from today on, and the next steps of some batches by their numbers."""

    breaches: Mapping[BreachKey, Phrase]
    steps: Mapping[int, tuple[Step, ...]]

    def beyond(self, other: Outlook) -> list[Phrase]:
        """Return the breaches that this outlook has and `other` has not, by their first day."""
        return [text for key, text in self.breaches.items() if key not in other.breaches]


@dataclass(frozen=True, slots=True)
class Trial:
    """The outlook before and after a change that was tried and not kept."""

    before: Outlook
    after: Outlook

    @property
    def new(self) -> list[Phrase]:
        """Return what the change would break, or make longer, larger or smaller."""
        return self.after.beyond(self.before)

    @property
    def gone(self) -> list[Phrase]:
        """Return what no longer breaks, or no longer in this way."""
        return self.before.beyond(self.after)


def of(farm: Farm, today: date, batches: Collection[int] = ()) -> Outlook:
    """Return the farm's outlook from today on, with the next steps of `batches`."""
    sheet = occupancy.for_farm(farm, Window(today, DAYS_AHEAD), today)
    found = {
        (one.kind, one.room or "", one.start, one.end, round(one.short, 4), one.groups): sheet.sentence(one)
        for one in sheet.breaches
    }
    rows = Batch.objects.filter(farm=farm, pk__in=batches).select_related("farm")
    return Outlook(found, {row.pk: _next_steps(row, today) for row in rows})


def _next_steps(batch: Batch, today: date) -> tuple[Step, ...]:
    start = min(batch.hatch_day, batch.arrived_on)
    days = max((today - start).days, 0) + STEP_DAYS
    until = today + timedelta(days=STEP_DAYS)
    return tuple(
        Step(due.item.due, due.item.title)
        for due in agenda.for_batch(batch, today, days)
        if today <= due.item.due < until
    )
