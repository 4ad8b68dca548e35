"""What changes from one rota to another, a round and group at a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from farm.planning.rota.records import Assigned, CellChange, RotaJob


def compare(before: Assigned, after: Assigned, jobs: Iterable[RotaJob]) -> tuple[CellChange, ...]:
    """Return the cells of these jobs that have other people than before, by day, round and group.

    Who does which chore within a cell is all one. minutes: of all jobs of the cell, each once however many do it.
    """
    cells = defaultdict(list)
    for job in jobs:
        cells[job.cell].append(job)
    return tuple(
        CellChange(*cell, was, now, sum(job.minutes for job in cells[cell]))
        for cell in sorted(cells)
        if (was := _people(before, cells[cell])) != (now := _people(after, cells[cell]))
    )


def _people(assigned: Assigned, jobs: Iterable[RotaJob]) -> tuple[str, ...]:
    return tuple(sorted({key for job in jobs for key in assigned.get(job.key, ())}))
