"""Steps by age put on their day and into the housing where the birds then live."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import chain

from farm.phrase import Phrase
from farm.planning.agenda import ages, feeding, heat, turning_out
from farm.planning.agenda.ages import AgeStep
from farm.planning.agenda.building import Builder, wanted
from farm.planning.agenda.homes import Home, Homes
from farm.planning.agenda.records import AgendaBatch, Item


def age_steps(homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield every step by age, one a housing the batch lives in that day."""
    for batch in homes.batches.values():
        steps = chain(
            ages.steps(batch, build.table),
            heat.steps(batch),
            feeding.changes(batch),
            feeding.edges(batch),
            turning_out.steps(batch),
        )
        for step in steps:
            if wanted(batch, step.job):
                yield from place(step, batch, homes, build)
        out = turning_out.nights_out(batch)
        if out is not None and wanted(batch, "day_out"):
            yield from place(out, batch, homes, build, free=True)
        due = turning_out.move_due(batch)
        if due is not None and wanted(batch, due.job) and _stays_on(batch, homes, due):
            yield from place(due, batch, homes, build, free=True)


def place(
    step: AgeStep, batch: AgendaBatch, homes: Homes, build: Builder, *, free: bool = False
) -> Iterator[Item]:
    """Yield the step's items: on its day, or the first day it can still be done when the birds come late."""
    last = step.day if step.last_day is None else step.last_day
    first, end = batch.hatch_day + timedelta(days=step.day), batch.hatch_day + timedelta(days=last + 1)
    for due in _days(first, end, batch, homes):
        found = [home for home in homes.of(batch.key, due) if _fits(step, home)]
        if found:
            break
    else:
        return
    for home in found:
        group = tuple(homes.together(home.room, due)) if step.shared else (batch.key,)
        if step.shared and _leader(homes, group, due) != batch.key:
            continue
        suffix = "" if home.first else f"/room:{home.room}"
        yield build.step(
            step.job,
            f"batch:{batch.key}/{step.name or step.job}/{step.day}{suffix}",
            due,
            home,
            Phrase(step.text, {**step.values, "room": home.name, "batch": batch.name}),
            step.why,
            source_key=step.source,
            batch=batch,
            batches=group,
            until=end if step.window else None,
            checklist=step.checklist,
            free=free,
        )


def _days(first: date, end: date, batch: AgendaBatch, homes: Homes) -> list[date]:
    """Return the days a step can begin: its own, and each on which a stay starts before it is too late."""
    return [first, *sorted({s.start for s in homes.by_batch[batch.key] if first < s.start < end})]


def _fits(step: AgeStep, home: Home) -> bool:
    return {
        "anywhere": True,
        "indoors": home.indoor,
        "outdoors": not home.indoor,
        "heated": home.heated,
        "brooder": home.heated and home.indoor,
    }[step.where]


def _leader(homes: Homes, group: tuple[str, ...], day: date) -> str:
    """Return the batch the shared heat follows: the one that needs it warmest, then longest; ties by key."""

    def need(key: str) -> tuple[float, date, str]:
        batch = homes.batches[key]
        last = heat.last_heated_day(batch.programme)
        if last is None:
            return -273.0, batch.hatch_day, key
        age = (
            day - batch.hatch_day
        ).days - 1  # what was set until today, so that a step on the same day ties by age
        return heat.temp_c(batch.programme, age), batch.hatch_day + timedelta(days=last), key

    return max(group, key=need)


def _stays_on(batch: AgendaBatch, homes: Homes, step: AgeStep) -> bool:
    """Say whether birds are still in heated housing after the window, with no move planned out of it."""
    after = batch.hatch_day + timedelta(days=(step.last_day or step.day) + 1)
    return any(home.heated for home in homes.of(batch.key, after))
