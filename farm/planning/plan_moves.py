"""What one plan moves otherwise than another, in sentences a keeper can act on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from farm.phrase import N_, Phrase, Value
from farm.planning.solution import BatchPlan

#: Where birds come from that were not on the farm.
OUTSIDE = ""
_NOWHERE = N_("no housing")


@dataclass(frozen=True, slots=True, order=True)
class Move:
    """Birds of a batch go from one housing to another on a day, all by key. old: OUTSIDE on arrival; "-" nowhere."""

    day: date
    batch: str
    old: str
    new: str


def moves(plans: Iterable[BatchPlan]) -> Counter[Move]:
    """Return every move of these plans with its birds; parts that move together count as one."""
    found: Counter[Move] = Counter()
    for plan in plans:
        for part in plan.parts:
            before = OUTSIDE
            for stay in part.stays:
                found[Move(stay.start, plan.batch, before, stay.housing or "-")] += part.birds
                before = stay.housing or "-"
    return found


def changed(old: Iterable[BatchPlan], new: Iterable[BatchPlan]) -> frozenset[str]:
    """Return the keys of the batches whose birds move otherwise."""
    before, after = moves(old), moves(new)
    return frozenset(move.batch for move in before.keys() | after.keys() if before[move] != after[move])


def differences(
    old: Iterable[BatchPlan],
    new: Iterable[BatchPlan],
    housings: Mapping[str, str],
    batches: Mapping[str, str],
) -> tuple[Phrase, ...]:
    """Return what the new plan does otherwise, by day. housings, batches: names by key."""
    before, after = moves(old), moves(new)
    gone = [move for move in sorted(before) if before[move] != after[move]]
    made = [move for move in sorted(after) if before[move] != after[move]]
    lines: list[tuple[date, Phrase]] = []
    for move in made:
        was = _twin(move, gone)
        if was is not None:
            gone.remove(was)
        lines.append((move.day, _said(move, after[move], was, housings, batches)))
    same = {(move.batch, move.day) for move in made}
    for move in gone:
        if not after[move] and (move.batch, move.day) not in same:
            lines.append((move.day, _dropped(move, housings, batches)))
    return tuple(text for _day, text in sorted(lines, key=lambda line: line[0]))


def _twin(move: Move, gone: Iterable[Move]) -> Move | None:
    """Return the move that this one stands for now: the same way on another day, or another way on the same day."""
    own = [was for was in gone if was.batch == move.batch]
    for fits in (
        lambda was: was == move,
        lambda was: (was.old, was.new) == (move.old, move.new),
        lambda was: (was.old, was.day) == (move.old, move.day),
        lambda was: was.new == move.new and move.old != OUTSIDE and was.old != OUTSIDE,
    ):
        found = next((was for was in own if fits(was)), None)
        if found is not None:
            return found
    return None


def _values(move: Move, housings: Mapping[str, str], batches: Mapping[str, str]) -> dict[str, Value]:
    return {
        "batch": batches.get(move.batch, move.batch),
        "old": _name(move.old, housings),
        "new": _name(move.new, housings),
        "day": move.day,
    }


def _name(key: str, housings: Mapping[str, str]) -> Value:
    return Phrase(_NOWHERE) if key == "-" else housings.get(key, key)


def _said(
    move: Move, birds: int, was: Move | None, housings: Mapping[str, str], batches: Mapping[str, str]
) -> Phrase:
    values: dict[str, Value] = _values(move, housings, batches) | {"birds": birds}
    if move.old == OUTSIDE:
        if was is None or was.new == move.new:
            return Phrase(N_("%(batch)s: %(birds)d begin in %(new)s on %(day)s"), values)
        values["before"] = _name(was.new, housings)
        return Phrase(N_("%(batch)s: %(birds)d begin in %(new)s on %(day)s, not in %(before)s"), values)
    if was is None or was == move or was.old == OUTSIDE:
        return Phrase(N_("%(batch)s: %(birds)d move from %(old)s to %(new)s on %(day)s"), values)
    if (was.old, was.new) == (move.old, move.new):
        values["before"] = was.day
        text = N_("%(batch)s: %(birds)d move from %(old)s to %(new)s on %(day)s instead of %(before)s")
        return Phrase(text, values)
    if was.new != move.new:
        values["before"] = _name(was.new, housings)
        text = N_("%(batch)s: %(birds)d move from %(old)s to %(new)s on %(day)s, not to %(before)s")
        return Phrase(text, values)
    return Phrase(N_("%(batch)s: %(birds)d move from %(old)s to %(new)s on %(day)s"), values)


def _dropped(move: Move, housings: Mapping[str, str], batches: Mapping[str, str]) -> Phrase:
    if move.old == OUTSIDE:
        return Phrase(
            N_("%(batch)s: none begin in %(new)s on %(day)s any more"), _values(move, housings, batches)
        )
    return Phrase(
        N_("%(batch)s: no move from %(old)s to %(new)s on %(day)s any more"),
        _values(move, housings, batches),
    )
