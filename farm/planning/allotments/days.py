"""An allotment by day, for a calendar: what falls due, what will really be there, what is over."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date

from farm.husbandry import odds
from farm.planning.allotments.chain import Chain
from farm.planning.allotments.pool import Part, Pool, alive_share
from farm.planning.allotments.records import DayRow, Lack, Supply, Wanted
from farm.planning.allotments.room import HAIR
from farm.planning.window import Window


def rows(pool: Pool, birds: Sequence[int], lives: Sequence[Chain], window: Window) -> tuple[DayRow, ...]:
    """Return a row for every day of the window. birds: meant, by pair."""
    short: dict[date, int] = {}
    for lack in lacking(pool, birds).values():
        short[lack.day] = short.get(lack.day, 0) + lack.birds
    meant: dict[date, int] = {}
    for pair, given in zip(pool.pairs, birds, strict=True):
        meant[pool.day(pair)] = meant.get(pool.day(pair), 0) + given
    over = [_over(pool, place, birds) for place in range(len(pool.parts))]
    found = []
    for day in window.dates():
        law = odds.together(
            life.on_day[bucket]
            for part, life in zip(pool.parts, lives, strict=True)
            for bucket in life.on_day
            if part.days[bucket] == day
        )
        low, high = odds.band(law)
        none_for = short.get(day, 0)
        surplus = _surplus(pool, over, day)
        promised = meant.get(day, 0) + none_for
        found.append(DayRow(day, promised, odds.mean(law), low, high, none_for, surplus))
    return tuple(found)


def spare_from(supply: Supply, today: date) -> date:
    """Return the first day on which a spare bird of a batch could be given."""
    return max(supply.from_on, supply.known_on, today)


def lacking(pool: Pool, birds: Sequence[int]) -> Mapping[str, Lack]:
    """Return, by key of the lines that lack any, the birds no batch can give, and the day they fall due.

    That is the day of the line's last hand-over, without one its first day.
    """
    found = {}
    for line, places in zip(pool.lines, pool.by_line, strict=True):
        none_for = line.birds - sum(birds[place] for place in places)
        days = [pool.day(pool.pairs[place]) for place in places if birds[place]]
        if none_for:
            found[line.key] = Lack(max(days) if days else _due(pool, line, places), none_for)
    return found


def _due(pool: Pool, line: Wanted, places: Sequence[int]) -> date:
    possible = [pool.day(pool.pairs[place]) for place in places]
    return min(possible) if possible else max(line.from_on, min(pool.today, line.to_on))


def _over(pool: Pool, place: int, birds: Sequence[int]) -> float:
    """Return the birds of a part meant for nobody, as of the day its law was known: later they die like others."""
    part = pool.parts[place]
    meant = {pool.pairs[at].bucket: 0 for at in pool.by_part[place]}
    for at in pool.by_part[place]:
        meant[pool.pairs[at].bucket] += birds[at]
    cost = sum(count / alive_share(part.supply, part.days[bucket]) for bucket, count in meant.items())
    return part.share * odds.mean(part.supply.law) - cost


def _surplus(pool: Pool, over: Sequence[float], day: date) -> int:
    by_supply: dict[str, float] = {}
    for part, birds in zip(pool.parts, over, strict=True):
        if _offered(part, pool.today, day):
            free = birds * alive_share(part.supply, day) - part.held
            by_supply[part.supply.key] = by_supply.get(part.supply.key, 0.0) + max(free, 0.0)
    return sum(math.floor(birds + HAIR) for birds in by_supply.values())


def _offered(part: Part, today: date, day: date) -> bool:
    until = part.supply.until
    return spare_from(part.supply, today) <= day and (until is None or day < until)
