"""Steps by age alone, read from the chore table as days of age; `placing` finds the day and the housing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning.agenda.records import WATERFOWL, AgendaBatch
from farm.trade.chores import Chore
from farm.trade.programme import Knot, Programme

Where = Literal["anywhere", "indoors", "brooder", "heated", "outdoors"]
#: Where a step makes sense, if not anywhere. Grit is for birds that find more than complete feed outdoors.
PLACES: Mapping[str, Where] = {
    "stones_in": "indoors",
    "stones_out": "indoors",
    "cloth_off": "indoors",
    "ring_off": "brooder",
    "grit": "outdoors",
}
#: Last day of age on which it still helps birds that came late: before the stones leave; ring d5-10, SASK.
LATE = {"stones_in": 4, "ring_off": 10}
WINDOWS = frozenset({"ring_off"})
NOT_WATERFOWL = frozenset({"low_perch", "dust_bath"})


@dataclass(frozen=True, slots=True)
class AgeStep:
    """A step on day `day` of age, in housing fit by `where` ("brooder" is indoors and heated).

    text: has `%(room)s` and `%(batch)s` filled in when the housing is known. last_day: the last day of age
    it can still be placed on when the birds come to such housing late. window: the days up to `last_day` are
    shown as its window. shared: it acts on the whole housing, so only the batch that needs most heat there
    speaks. name: in the id, the job by default.
    """

    job: str
    day: int
    text: str
    why: Phrase
    source: str
    values: Mapping[str, Value] = field(default_factory=lambda: MappingProxyType({}))
    where: Where = "anywhere"
    last_day: int | None = None
    window: bool = False
    shared: bool = False
    name: str = ""
    checklist: tuple[Phrase, ...] = ()


def rule(programme: Programme, name: str) -> int | None:
    """Return a programme's rule in whole days, None if it has none."""
    found = programme.rules.get(name)
    return None if found is None else int(found.value)


def knot_at(knots: tuple[Knot, ...], age_days: int) -> Knot:
    """Return the knot that holds at an age: the last on or before it, the first before that."""
    return next((knot for knot in reversed(knots) if knot.day <= age_days), knots[0])


def grown_day(programme: Programme) -> int:
    """Return the day of age at which the programme's growth table ends, 112 (16 weeks) without one."""
    knots = programme.curves.get("weight_female_g", ())
    return knots[-1].day if knots else 112


def ages_of(chore: Chore, batch: AgendaBatch) -> Iterable[int]:
    """Return the days of age at which a step of the table falls; none when an event dates it instead.

    What repeats stops when the growth table ends.
    """
    if chore.rule:
        day = rule(batch.programme, chore.rule)
        return () if not day else (day,)
    if batch.species in chore.species_days:
        return (chore.species_days[batch.species],)
    if chore.days or chore.first_day is None or chore.every_days is None:
        return chore.days
    return range(chore.first_day, chore.last_day or grown_day(batch.programme) + 1, chore.every_days)


def steps(batch: AgendaBatch, table: Mapping[str, Chore]) -> Iterator[AgeStep]:
    """Yield every step the table dates by age for this batch."""
    for job, chore in table.items():
        if chore.kind != "step" or (job in NOT_WATERFOWL and batch.species in WATERFOWL):
            continue
        for day in ages_of(chore, batch):
            yield AgeStep(
                job,
                day,
                N_("%(room)s: %(chore)s (%(batch)s)") if job == "weigh" else N_("%(room)s: %(chore)s"),
                _expected(batch, day) if job == "weigh" else Phrase(chore.why),
                chore.source,
                {"chore": Phrase(chore.title)},
                where=PLACES.get(job, "anywhere"),
                last_day=LATE.get(job),
                window=job in WINDOWS,
            )


def _expected(batch: AgendaBatch, day: int) -> Phrase:
    male = batch.sex == "sexed_male"
    knots = batch.programme.curves.get("weight_male_g" if male else "weight_female_g", ())
    weight = {knot.day: knot.value for knot in knots}.get(day)
    if weight is None:
        return Phrase(N_("Growth off its curve shows before anything else does"))
    return Phrase(N_("About %(weight)s a bird is expected at this age"), {"weight": Quantity(weight, "g", 0)})
