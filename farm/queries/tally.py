"""What a batch's ledger adds up to: which lines stand, what came, what died, what went another way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from farm.models import CountEntry, FeedEntry
from farm.models.count_entry import DEATHS, GAINS, CountKind

#: A line of a ledger that is never edited: of birds or of feed.
Line = TypeVar("Line", CountEntry, FeedEntry)


@dataclass(frozen=True, slots=True)
class Tally:
    """Birds of one batch: came, died (culled included) and left (sold, processed, kept back); here is what remains."""

    came: int
    died: int
    left: int

    @property
    def here(self) -> int:
        """Return the birds that are still here."""
        return self.came - self.died - self.left


def standing(entries: Sequence[Line]) -> list[Line]:
    """Return the lines that count, in their order: neither taken back nor the taking back of another.

    A taking back that was itself taken back leaves the first line standing.
    """
    against: dict[int | None, Line] = {
        entry.reverses_id: entry for entry in entries if entry.reverses_id is not None
    }
    return [
        entry for entry in entries if entry.kind != CountKind.REVERSED and not _taken_back(entry, against)
    ]


def tally(entries: Sequence[CountEntry], until: date | None = None) -> Tally:
    """Return what the ledger adds up to at the end of the day `until`, or with all its lines."""
    lines = [entry for entry in standing(entries) if until is None or entry.day <= until]
    return Tally(
        came=_sum(entry for entry in lines if entry.kind in GAINS),
        died=_sum(entry for entry in lines if entry.kind in DEATHS),
        left=_sum(entry for entry in lines if entry.kind not in GAINS | DEATHS),
    )


def _taken_back(entry: Line, against: Mapping[int | None, Line]) -> bool:
    opposite = against.get(entry.pk)
    return opposite is not None and not _taken_back(opposite, against)


def _sum(lines: Iterable[CountEntry]) -> int:
    return sum(abs(entry.birds) for entry in lines)
