"""Items from the chore table: minutes, who, cautions and checklist are the table's, day and words ours."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import ceil

from farm.phrase import Phrase
from farm.planning.agenda.homes import Home
from farm.planning.agenda.records import AgendaBatch, Item
from farm.trade.chores import Chore


def minutes(chore: Chore, birds: int) -> int:
    """Return whole minutes for `birds`: the fixed part and one share for every 50 begun."""
    return ceil(chore.minutes + chore.minutes_per_50 * ceil(birds / 50))


def wanted(batch: AgendaBatch, job: str) -> bool:
    """Say whether the batch's programme has the job; a programme that lists none has them all."""
    return not batch.programme.jobs or job in batch.programme.jobs


class Builder:
    """Builds step items from one chore table."""

    def __init__(self, table: Mapping[str, Chore]) -> None:
        """Keep the table; its texts are made phrases once."""
        self.table = table
        self.titles = {key: Phrase(chore.title) for key, chore in table.items()}
        self.whys = {key: Phrase(chore.why) for key, chore in table.items()}
        self.checklists = {
            key: tuple(Phrase(line) for line in chore.checklist) for key, chore in table.items()
        }

    def minutes(self, job: str, birds: int) -> int:
        """Return whole minutes of a job for so many birds."""
        return minutes(self.table[job], birds)

    def step(
        self,
        job: str,
        source: str,
        due: date,
        home: Home,
        title: Phrase,
        why: Phrase,
        *,
        source_key: str = "",
        batch: AgendaBatch | None = None,
        batches: tuple[str, ...] = (),
        birds: int | None = None,
        until: date | None = None,
        checklist: tuple[Phrase, ...] = (),
        people: int = 1,
        free: bool = False,
    ) -> Item:
        """Return one step in `home`; KeyError when the table lacks the job.

        birds: how many the minutes are for, `home.birds` by default. checklist: lines after the table's
        own. free: it takes no time, it only becomes true that day.
        """
        chore = self.table[job]
        return Item(
            source=source,
            kind="step",
            job=job,
            batch=batch.key if batch else None,
            batches=batches or ((batch.key,) if batch else ()),
            room=home.room,
            room_name=home.name,
            due=due,
            until=until,
            round=chore.rounds[0],
            title=title,
            why=why,
            source_key=source_key or chore.source,
            age_days=(due - batch.hatch_day).days if batch else None,
            minutes=0 if free else minutes(chore, home.birds if birds is None else birds),
            who=chore.who,
            cautions=chore.cautions,
            checklist=self.checklists[job] + checklist,
            people=people,
            needs=() if free else chore.needs,
            care=chore.care and not free,
            heated="heat" in chore.needs and not free,
        )
