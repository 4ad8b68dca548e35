"""Routine chores: one an occupied housing, day and round, for all batches in it together."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

from farm.phrase import N_, Phrase
from farm.planning.agenda.building import Builder
from farm.planning.agenda.homes import DAY, Homes, Run
from farm.planning.agenda.records import Item
from farm.planning.agenda.routine import Crowd, Duty, duties, turning_days


def chores(homes: Homes, build: Builder, start: date, end: date) -> list[Item]:
    """Return the chores due on the days [start, end), in no order.

    Between two days on which nobody comes, leaves or passes an age that matters, every day asks the same;
    so each such stretch is worked out once and dealt out to its days.
    """
    found: list[Item] = []
    for room, runs in homes.runs.items():
        for run in runs:
            for first, stop in pairwise(_breaks(homes, build, run, start, end)):
                crowd = _crowd(homes, room, run, first)
                for duty in duties(crowd, build.table):
                    found += _dealt(duty, crowd, build, first, stop)
    return found


def _breaks(homes: Homes, build: Builder, run: Run, start: date, end: date) -> list[date]:
    """Return the days of the run in [start, end] at which what is asked may change, limits included."""
    first, stop = max(start, run.start), end if run.end is None else min(end, run.end)
    if first >= stop:
        return []
    days = {first, stop}
    for stay in run.stays:
        batch = homes.batches[stay.batch]
        days |= {homes.begins(stay), stay.end or stop}
        days |= {batch.hatch_day + timedelta(days=age) for age in turning_days(batch.programme, build.table)}
    return sorted(day for day in days if first <= day <= stop)


def _crowd(homes: Homes, room: str, run: Run, day: date) -> Crowd:
    birds = homes.together(room, day)
    members = tuple((homes.batches[key], number) for key, number in birds.items())
    stay = next(stay for stay in run.stays if homes.holds(stay, day))
    return Crowd(room, stay.room_name, stay.indoor, stay.heated, run.start, day, members)


def _dealt(duty: Duty, crowd: Crowd, build: Builder, first: date, stop: date) -> Iterator[Item]:
    """Yield the duty's items on its days of [first, stop)."""
    chore = build.table[duty.job]
    title = Phrase(N_("%(room)s: %(chore)s"), {"room": crowd.name, "chore": build.titles[duty.job]})
    batches = tuple(batch.key for batch, _ in duty.members)
    youngest = max(batch.hatch_day for batch, _ in duty.members)
    took = build.minutes(duty.job, sum(birds for _, birds in duty.members))
    source, why, checklist = f"room:{crowd.room}/{duty.job}", build.whys[duty.job], build.checklists[duty.job]
    age, heated = (first - youngest).days, bool(crowd.warmed)
    due, wait = first, (first - crowd.since).days % duty.every
    while due < stop:
        if wait == 0 and (
            duty.every == 1 or due != crowd.since
        ):  # on the first day the housing was just made ready
            for round_ in duty.rounds or chore.rounds:
                yield Item(
                    source,
                    "chore",
                    duty.job,
                    None,
                    batches,
                    crowd.room,
                    crowd.name,
                    due,
                    None,
                    round_,
                    title,
                    why,
                    chore.source,
                    age,
                    took,
                    chore.who,
                    chore.cautions,
                    checklist,
                    needs=chore.needs,
                    care=chore.care,
                    heated=heated,
                )
        due, age, wait = due + DAY, age + 1, (wait + 1) % duty.every
