"""An allotment: which birds are meant for which line, and how sure that is. It is computed, never stored."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from farm.husbandry import odds
from farm.planning.allotments import by_hand, days, flow, splits
from farm.planning.allotments.chain import Chain, chains
from farm.planning.allotments.pool import Pool, pool
from farm.planning.allotments.reasons import reason
from farm.planning.allotments.records import DayRow, Lack, LineOdds, Share, SpareOdds, Supply, Wanted
from farm.planning.window import Window

#: A chance short of the confidence by no more than this is short by rounding alone.
ROUNDING = 1e-12


@dataclass(frozen=True)
class Allotment:
    """shares: by rank of the lines, then batch key. lines: by line key. spare: by batch key."""

    shares: tuple[Share, ...]
    lines: Mapping[str, LineOdds]
    spare: Mapping[str, SpareOdds]
    _pool: Pool = field(repr=False, compare=False)
    _birds: tuple[int, ...] = field(repr=False, compare=False)
    _lives: tuple[Chain, ...] = field(repr=False, compare=False)

    def by_day(self, window: Window) -> tuple[DayRow, ...]:
        """Return a row for every day of the window."""
        return days.rows(self._pool, self._birds, self._lives, window)

    def lacking(self) -> Mapping[str, Lack]:
        """Return what no batch can give, by line key, and when it falls due; only lines that lack birds."""
        return days.lacking(self._pool, self._birds)

    def law(self, wanted: str) -> odds.Law:
        """Return P(exactly so many birds of what is there) for a line. Raises KeyError for one not among them."""
        line = next((place for place, each in enumerate(self._pool.lines) if each.key == wanted), None)
        if line is None:
            raise KeyError(wanted)
        return _law(self._pool, line, self._lives)

    def free_birds(self, supply: str, wanted: str | None, day: date) -> int:
        """Return how many birds of a batch may be given to a line on a day: see `free_birds`."""
        return free_birds(self, supply, wanted, day)


def allot(
    supplies: Iterable[Supply], wanted: Iterable[Wanted], today: date, confidence: float = 0.9
) -> Allotment:
    """Return which birds are meant for which line. The order of the input changes nothing.

    confidence: how sure `SpareOdds.sure` is. Raises ValueError for two supplies, or two lines, of one key, or a
    confidence outside 0..1.
    """
    if not 0 <= confidence <= 1:
        raise ValueError("confidence must be within 0 to 1")
    question = pool(supplies, wanted, today)
    birds = splits.share(question, flow.fill(question))
    spare_from = {supply.key: days.spare_from(supply, today) for supply in question.supplies}
    lives = chains(question, birds, spare_from)
    return Allotment(
        shares=_shares(question, birds),
        lines={line.key: _odds(question, place, birds, lives) for place, line in enumerate(question.lines)},
        spare={
            supply.key: _spare(question, supply, lives, spare_from[supply.key], confidence)
            for supply in question.supplies
        },
        _pool=question,
        _birds=birds,
        _lives=tuple(lives),
    )


def free_birds(allotment: Allotment, supply_key: str, wanted_key: str | None, day: date) -> int:
    """Return how many birds of a batch may be given to a line on a day: not those held, not those meant for lines
    ranked before it. Birds meant for other lines on earlier days count as given by then. The batch's age, dates and
    type are not judged.

    wanted_key: None, or a line not among those allotted, comes after all lines. Of a batch seen as females and males
    a line that asks for a sex gets as many of it as are expected, rounded up: nobody has counted them. Raises
    KeyError for a batch that is not among the supplies.
    """
    return by_hand.free(allotment._pool, allotment._birds, supply_key, wanted_key, day)


def _shares(question: Pool, birds: Sequence[int]) -> tuple[Share, ...]:
    found: dict[tuple[int, str], Share] = {}
    for pair, given in zip(question.pairs, birds, strict=True):
        if given:
            supply = question.parts[pair.part].supply.key
            before = found.get((pair.line, supply))
            total = given + (before.birds if before else 0)
            found[pair.line, supply] = Share(question.lines[pair.line].key, supply, total, question.day(pair))
    return tuple(found[key] for key in sorted(found))


def _odds(question: Pool, line: int, birds: Sequence[int], lives: Sequence[Chain]) -> LineOdds:
    ordered = question.lines[line].birds
    allotted = sum(birds[place] for place in question.by_line[line])
    law = _law(question, line, lives)
    low, high = odds.band(law)
    return LineOdds(
        ordered=ordered,
        allotted=allotted,
        short=ordered - allotted,
        expected=odds.mean(law),
        chance=odds.chance_of(law, ordered),
        low=low,
        high=high,
        reason=reason(question, line, birds),
    )


def _law(question: Pool, line: int, lives: Sequence[Chain]) -> odds.Law:
    laws = (lives[question.pairs[place].part].got.get(place) for place in question.by_line[line])
    return odds.together(each for each in laws if each is not None)


def _spare(
    question: Pool, supply: Supply, lives: Sequence[Chain], from_on: date, confidence: float
) -> SpareOdds:
    if supply.until is not None and supply.until <= from_on:
        return SpareOdds(0.0, 0, from_on)
    law = odds.together(
        life.left for part, life in zip(question.parts, lives, strict=True) if part.supply is supply
    )
    at_least = np.cumsum(law[::-1])[::-1]
    sure = int(np.flatnonzero(at_least >= confidence - ROUNDING)[-1]) if len(law) else 0
    return SpareOdds(odds.mean(law), sure, from_on)
