"""The egg sets and intakes of a proposal as records, inside an open write: each judged as if a keeper had typed it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TypeVar

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Housing
from farm.models.batch import Sex
from farm.planning.allotments import Wanted
from farm.planning.ordering import ProposedIntake, ProposedSet, calendar
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.codec import Content
from farm.planning.solution import PlanStay
from farm.queries import lookup, supplies
from farm.services import day_rules, egg_sets, expected, intakes, stays
from farm.services.egg_sets import NewEggSet
from farm.services.intakes import NewIntake
from farm.services.writing import Log

_SEXES = {"female": Sex.FEMALE, "male": Sex.MALE}
#: Where a set or intake is refused, and which of the two fields of a proposal mends it.
_SET_FIELDS = {"set_on": "day", "hatch_day": "day", "start": "day", "end": "day", "hatcher_id": "day"}
_INTAKE_FIELDS = {"due_on": "day", "hatch_day": "day", "start": "day", "end": "day"}

Item = ProposedSet | ProposedIntake
Kind = TypeVar("Kind", ProposedSet, ProposedIntake)


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """What a keeper changed of a proposed set or intake. count: eggs or chicks; day: set, or expected to arrive.

    None: as proposed.
    """

    left_out: bool = False
    count: int | None = None
    day: date | None = None


def make(log: Log, content: Content, edits: Mapping[str, Edit]) -> tuple[int, int]:
    """Make the sets and intakes that are not left out; return how many of each.

    Raises BadInput with the fields of all, "sets-0-eggs" for the eggs of the first set, and when all are left out.
    """
    wanted = {line.key: line for line in supplies.wanted(log.farm)}
    problems: dict[str, list[object]] = {}
    sets = _taken(content.proposal.sets, edits)
    for place, one in sets:
        with _at(f"sets-{place}", problems, _SET_FIELDS, "eggs"):
            _set(log, content, one, edits.get(one.key, Edit()), wanted)
    bought = _taken(content.proposal.intakes, edits)
    for place, each in bought:
        with _at(f"intakes-{place}", problems, _INTAKE_FIELDS, "birds"):
            _intake(log, content, each, edits.get(each.key, Edit()), wanted)
    if problems:
        raise BadInput(problems)
    if not sets and not bought:
        raise BadInput.at("", _("Everything is left out. Keep one at least, or drop the proposal."))
    return len(sets), len(bought)


def _taken(items: Sequence[Kind], edits: Mapping[str, Edit]) -> list[tuple[int, Kind]]:
    return [(place, item) for place, item in enumerate(items) if not edits.get(item.key, Edit()).left_out]


def _set(log: Log, content: Content, one: ProposedSet, edit: Edit, wanted: Mapping[str, Wanted]) -> None:
    day, lines = edit.day or one.set_on, [wanted[key] for key in one.lines]
    _check_day(log, day, one.hatch_day - one.set_on, timedelta(), lines)
    new = NewEggSet(
        programme=content.choices[one.type],
        eggs=one.eggs if edit.count is None else edit.count,
        set_on=day,
        setter_id=int(one.setter),
        hatcher_id=int(one.hatcher),
        breed=one.breed,
    )
    batch = egg_sets.set_in(log, new).batch
    assert batch is not None, "an open set has its batch"
    _house(log, batch, one, one.hatch_day, lines)


def _intake(
    log: Log, content: Content, one: ProposedIntake, edit: Edit, wanted: Mapping[str, Wanted]
) -> None:
    day, lines = edit.day or one.day, [wanted[key] for key in one.lines]
    new = NewIntake(
        programme=content.choices[one.type],
        ordered=one.birds if edit.count is None else edit.count,
        due_on=day,
        supplier_id=int(one.supplier),
        breed=one.breed,
        sex=_SEXES.get(one.sex, Sex.STRAIGHT_RUN),
    )
    batch = intakes.expect_in(log, new).batch
    assert batch is not None, "an expected intake has its batch"
    age = batch.arrived_on - batch.hatch_day
    _check_day(log, day, -age, age, lines)
    _house(log, batch, one, one.day, lines)


def _check_day(log: Log, day: date, to_hatch: timedelta, age: timedelta, lines: Sequence[Wanted]) -> None:
    """Raise BadInput at `day` for one that has passed, or whose birds are not of the age its lines ask for.

    to_hatch: from the day a keeper types to the hatch; age: on arrival.
    """
    if day < log.by.today:
        raise BadInput.at("day", _("This day has passed. Choose another, or propose again."))
    begins = Day(day + to_hatch, day + to_hatch + age, age.days)
    if not all(calendar.suits(line, begins) for line in lines):
        spans = [calendar.span(line) for line in lines]
        first, last = max(one for one, _last in spans), min(one for _first, one in spans)
        text = _(
            "Then the birds are not of the age that was ordered. Choose a day from %(first)s to %(last)s."
        )
        days = {"first": day_rules.shown(first - to_hatch), "last": day_rules.shown(last - to_hatch)}
        raise BadInput.at("day", text % days)


def _house(log: Log, batch: Batch, one: Item, planned: date, lines: Sequence[Wanted]) -> None:
    """Let a new batch leave when its lines have their birds, and live where the proposal found room.

    planned: its arrival as proposed; on another day its moves are so many days sooner or later.
    """
    begins = Day(batch.hatch_day, batch.arrived_on, (batch.arrived_on - batch.hatch_day).days)
    log.change(batch, leaves_on=max(calendar.gone(line, begins) for line in lines))
    for stay in _moved(one.stays, batch, batch.arrived_on - planned):
        stays.add_in(
            log,
            batch=batch,
            housing=lookup.get(Housing, farm_id=log.farm.pk, pk=int(stay.housing or 0)),
            birds=expected.hoped(batch),
            start=stay.start,
            end=stay.end,
        )


def _moved(planned: Sequence[PlanStay], batch: Batch, by: timedelta) -> Iterator[PlanStay]:
    leaves = batch.leaves_on
    assert leaves is not None
    for place, stay in enumerate(planned):
        last = place == len(planned) - 1
        end = leaves if last else min(stay.end + by, leaves)
        if stay.start + by < end:
            yield replace(stay, start=stay.start + by, end=end)


@contextmanager
def _at(
    lead: str, problems: dict[str, list[object]], fields: Mapping[str, str], otherwise: str
) -> Iterator[None]:
    """Collect what a set or intake is refused for under the names its two fields have in the proposal's form."""
    known = {*fields.values(), otherwise}
    try:
        yield
    except BadInput as refused:
        for name, texts in refused.fields.items():
            field = name if name in known else fields.get(name, otherwise)
            problems.setdefault(f"{lead}-{field}", []).extend(texts)
