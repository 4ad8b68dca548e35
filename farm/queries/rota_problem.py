"""A farm's rows as the question who does what: people with their time, open chores, what stands and what is fixed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm.models import Farm, RotaRules
from farm.planning.agenda import Item
from farm.planning.rota.records import Assigned, Key, RotaJob, RotaPerson, RotaProblem, Weights
from farm.planning.window import Window
from farm.queries import agenda, rota_people, rota_rows

#: Days behind today that count for fairness when the rota reaches over all the others: project default (judgement)
LEAST_PAST = 14
#: A family would rather keep the rota it has read, and whole rounds, than have the last minutes of fairness over some
#: weeks: project default (judgement)
WEIGHTS = Weights(deviation=3, touched=30)


@dataclass(frozen=True, slots=True)
class Asked:
    """A problem, and the occurrences that are no part of it though they keep whoever has them: those of rounds that are
    over today, and those marked."""

    problem: RotaProblem
    closed: frozenset[Key] = frozenset()
    marked: frozenset[Key] = frozenset()


def problem(farm: Farm, today: date, *, closed: Collection[str] = ()) -> RotaProblem:
    """Return the question of who does what from today on, over the weeks of the farm's rules.

    closed: rounds of today that are over. Without a rota there are no people and no jobs in it.
    """
    return asked(farm, today, closed=closed).problem


def asked(farm: Farm, today: date, *, closed: Collection[str] = ()) -> Asked:
    """Return `problem` with what stays out of it."""
    rules = rota_rows.rules(farm)
    if rules is None:
        return Asked(RotaProblem(people=(), jobs=()))
    horizon = window(rules, today)
    items = [item for item in agenda.for_farm(farm, horizon, today) if item.minutes]
    since = rota_rows.first_due(items, today)
    marked = rota_rows.marked(farm, since)
    over = {item.occurrence for item in items if item.due == today and item.round in closed}
    places = rota_rows.places(farm)
    jobs = tuple(_job(item, places) for item in items if item.occurrence not in marked | over)
    given = rota_rows.given(farm, since)
    people = _busy(
        rota_people.people(farm, Window(today - timedelta(days=past(rules)), past(rules)), horizon),
        [item for item in items if item.occurrence in over - marked],
        given,
    )
    here = {person.key for person in people}
    found = RotaProblem(
        people=people,
        jobs=jobs,
        previous=_of(jobs, given),
        pins=_of(jobs, rota_rows.pins(farm, since), here),
        first_weekday=farm.first_weekday,
        weights=WEIGHTS,
        seed=farm.pk,
    )
    return Asked(found, frozenset(over), frozenset(marked))


def window(rules: RotaRules, today: date) -> Window:
    """Return the days the rota gives out."""
    return Window(today, 7 * rules.weeks)


def past(rules: RotaRules) -> int:
    """Return how many days behind today count for fairness."""
    rest = rules.fair_days - 7 * rules.weeks
    return rest if rest > 0 else LEAST_PAST


def open_jobs(farm: Farm, days: Window, today: date) -> tuple[RotaJob, ...]:
    """Return what is to be given out on some days and is not marked."""
    items = [item for item in agenda.for_farm(farm, days, today) if item.minutes]
    marked, places = rota_rows.marked(farm, rota_rows.first_due(items, days.start)), rota_rows.places(farm)
    return tuple(_job(item, places) for item in items if item.occurrence not in marked)


def without(
    asked: RotaProblem, *, aways: Sequence[tuple[int, date, date]] = (), leaving: Collection[int] = ()
) -> RotaProblem:
    """Return the problem with more days away (member, first day, back on), and without those who leave.

    What was decided for days on which somebody is then away no longer holds.
    """
    gone = {str(member) for member in leaving}
    spans: dict[str, list[tuple[date, date]]] = {}
    for member, start, end in aways:
        spans.setdefault(str(member), []).append((start, end))
    people = tuple(
        replace(person, away=(*person.away, *spans.get(person.key, ())))
        for person in asked.people
        if person.key not in gone
    )
    days = {job.key: job.day for job in asked.jobs}
    pins = {
        key: kept
        for key, pinned in asked.pins.items()
        if (
            kept := tuple(each for each in pinned if each not in gone and not _in(spans.get(each), days[key]))
        )
    }
    return replace(asked, people=people, pins=pins)


def _busy(
    people: Sequence[RotaPerson], items: Sequence[Item], given: Mapping[Key, tuple[int, ...]]
) -> tuple[RotaPerson, ...]:
    """Return the people with the work of today's rounds that are over counted as done, as long as nobody ticked it:
    a tick comes late more often than never, and shares must not swing with the hour.
    """
    minutes: Counter[str] = Counter()
    for item in items:
        for member in given.get(item.occurrence, ()):
            minutes[str(member)] += item.minutes
    return tuple(replace(person, done=person.done + minutes[person.key]) for person in people)


def _in(spans: Iterable[tuple[date, date]] | None, day: date) -> bool:
    return any(start <= day < end for start, end in spans or ())


def _job(item: Item, places: Mapping[str, str]) -> RotaJob:
    return RotaJob(
        key=item.occurrence,
        day=item.due,
        round=item.round,
        group=rota_rows.group_of(item, places),
        room=item.room,
        job=item.job,
        title=item.title,
        minutes=item.minutes,
        who=item.who,
        needs=frozenset(item.needs),
        people=item.people,
        heated=item.heated,
    )


def _of(
    jobs: Iterable[RotaJob], rows: Mapping[Key, tuple[int, ...]], here: Collection[str] | None = None
) -> Assigned:
    """Return the rows of these jobs, as the problem names people; of those in `here` where it is given."""
    found = {}
    for job in jobs:
        people = tuple(str(member) for member in rows.get(job.key, ()))
        kept = people if here is None else tuple(person for person in people if person in here)
        if kept:
            found[job.key] = kept
    return found
