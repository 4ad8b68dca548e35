"""Why a line gets nothing, or less than it asks for: the first thing that stands in its way, in a sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

from farm.phrase import N_, Phrase
from farm.planning.allotments.pool import Pool, has_sex, is_kind
from farm.planning.allotments.records import Supply, Wanted
from farm.planning.allotments.room import HAIR

DAYS_A_WEEK = 7


def reason(pool: Pool, line: int, birds: Sequence[int]) -> Phrase | None:
    """Return why a line is short of birds, None where it is not. birds: meant, by pair."""
    if sum(birds[place] for place in pool.by_line[line]) >= pool.lines[line].birds:
        return None
    return _too_few(pool, line, birds) if pool.by_line[line] else _none(pool, pool.lines[line])


def age(days: int) -> Phrase:
    """Return an age in whole weeks where it is some, else in days."""
    if days and days % DAYS_A_WEEK == 0:
        return Phrase(
            N_("%(weeks)d week"), {"weeks": days // DAYS_A_WEEK}, plural=N_("%(weeks)d weeks"), count="weeks"
        )
    return Phrase(N_("%(days)d day"), {"days": days}, plural=N_("%(days)d days"), count="days")


def _none(pool: Pool, line: Wanted) -> Phrase:
    """Return why no batch could ever serve a line."""
    stock = [supply for supply in pool.supplies if is_kind(supply, line)]
    first = max(line.from_on, pool.today)
    if line.to_on < pool.today:
        return Phrase(N_("The last day, %(day)s, has passed."), {"day": line.to_on})
    if line.to_on < line.from_on:
        return Phrase(N_("The last day, %(day)s, is before the first."), {"day": line.to_on})
    if line.age_to_days < line.age_from_days:
        ages = {"from": age(line.age_from_days), "to": age(line.age_to_days)}
        return Phrase(N_("No bird is at least %(from)s and at most %(to)s old."), ages)
    if not stock:
        of_type = any(supply.type == line.type for supply in pool.supplies)
        return Phrase(
            N_("No batch of this type is of the breed asked for.")
            if of_type
            else N_("There are no birds of this type, and none are expected.")
        )
    stock = [supply for supply in stock if has_sex(supply, line.sex)]
    if not stock:
        return Phrase(
            N_("No batch of this type has females.")
            if line.sex == "female"
            else N_("No batch of this type has males.")
        )
    span = {"first": first, "last": line.to_on}
    causes = {_cause(supply, line, pool) for supply in stock}
    if causes == {"young"}:
        text = N_("No birds of this type reach %(age)s between %(first)s and %(last)s.")
        return Phrase(text, {"age": age(line.age_from_days), **span})
    if causes == {"old"}:
        text = N_("All birds of this type are older than %(age)s between %(first)s and %(last)s.")
        return Phrase(text, {"age": age(line.age_to_days), **span})
    if causes == {"away"}:
        return Phrase(N_("No birds of this type may be given between %(first)s and %(last)s."), span)
    return Phrase(N_("No birds of this type are of the right age between %(first)s and %(last)s."), span)


def _cause(supply: Supply, line: Wanted, pool: Pool) -> str:
    """Return why a batch of the right type cannot serve a line: too "young", too "old", or "away" on those days."""
    there = max(line.from_on, supply.from_on, supply.known_on, pool.today)
    if there > line.to_on or (supply.until is not None and there >= supply.until):
        return "away"
    if (there - supply.hatch_day).days > line.age_to_days:
        return "old"
    if supply.hatch_day + timedelta(days=line.age_from_days) > line.to_on:
        return "young"
    return "away"


def _too_few(pool: Pool, line: int, birds: Sequence[int]) -> Phrase:
    """Return what takes the birds of the batches that could serve a line: holds, earlier orders, or there are few."""
    parts = {pool.pairs[place].part: pool.pairs[place].bucket for place in pool.by_line[line]}
    there = {place: math.floor(pool.parts[place].alive[bucket] + HAIR) for place, bucket in parts.items()}
    held = sum(min(pool.parts[place].held, there[place]) for place in parts)
    others = sum(
        birds[place] for part in parts for place in pool.by_part[part] if pool.pairs[place].line < line
    )
    if held and held >= others:
        return Phrase(
            N_("%(birds)d bird is held back."),
            {"birds": held},
            plural=N_("%(birds)d birds are held back."),
            count="birds",
        )
    if others:
        return Phrase(
            N_("Other orders come first: %(birds)d bird is meant for them."),
            {"birds": others},
            plural=N_("Other orders come first: %(birds)d birds are meant for them."),
            count="birds",
        )
    return Phrase(
        N_("Only %(birds)d bird is expected in the batches that would do."),
        {"birds": sum(there.values())},
        plural=N_("Only %(birds)d birds are expected in the batches that would do."),
        count="birds",
    )
