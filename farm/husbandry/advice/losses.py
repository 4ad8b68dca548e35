"""When losses are out of the ordinary: a chart whose false alarms are reckoned over the whole rearing.

All birds of a batch are of one age, so the losses so far are a chain: of the birds there in the morning, each dies by
the evening with that age's chance. Two things cry: too many lost so far, or too many on one day. Both limits come from
one tail, and that tail is the largest at which a batch that loses birds just as its programme says is cried over, ever,
in no more than the stated share of rearings. It is summed over every course that losses can take; nothing is simulated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farm.husbandry import binomial
from farm.husbandry.survival import surviving_share
from farm.trade.general import figure
from farm.trade.programme import Programme

Array = NDArray[np.float64]
#: What is cut off beyond the likeliest losses of a day, given to the false alarms.
_TAIL = 1e-12
#: A chance too small to carry on: the sum of all that is dropped is far below any limit.
_NOTHING = 1e-18
_ROUNDING = 1e-13
#: Each halves the logarithm of the span the tail lies in: 12 find it to within a thousandth of itself.
_HALVINGS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """Limits by day, index 0 being the day of age `first_age`.

    expected: losses so far. most: losses so far that are still ordinary. most_a_day: losses of one day likewise.
    calm: losses so far at which an alarm is over. false_alarms: the chance, exact, that a batch losing birds as its
    programme says is ever cried over. chances: of death on each day.
    """

    first_age: int
    base: NDArray[np.int64]
    chances: Array
    expected: Array
    most: NDArray[np.int64]
    most_a_day: NDArray[np.int64]
    calm: NDArray[np.int64]
    tail: float
    false_alarms: float


def chart(
    programme: Programme, first_age: int, base: Sequence[int], false_alarms: float | None = None
) -> Chart:
    """Return the chart of a batch from the day of age it came until the last day it is watched.

    base: for each day, the birds that came so far less those that left alive. Losses are not taken off; a day's
    entries count from that morning. false_alarms: over all these days together, the table's unless given.
    Raises ValueError for no day, a base below 0, or false_alarms outside 0..1.
    """
    wanted = figure("losses", "false_alarms_rearing") if false_alarms is None else false_alarms
    birds = np.asarray(base, dtype=np.int64)
    if not len(birds) or (birds < 0).any() or not 0 < wanted < 1:
        raise ValueError("needs days, birds not below 0, and false alarms between 0 and 1")
    alive = surviving_share(programme, first_age + np.arange(len(birds) + 1))
    chances = 1 - alive[1:] / alive[:-1]
    laws = _laws(birds, chances)
    days = [_day_law(int(n), float(p)) for n, p in zip(birds, chances, strict=True)]
    # two looks a day: one tail is never below its even part of what they may cry together, nor above the whole
    low, high = wanted / (2 * len(birds)), wanted
    for _ in range(_HALVINGS):
        tail = math.sqrt(low * high)
        if _cried(birds, chances, _most(laws, tail), _most(days, tail)) <= wanted:
            low = tail
        else:
            high = tail
    return Chart(
        first_age=first_age,
        base=birds,
        chances=chances,
        expected=np.array([len(law) - law.sum() for law in laws]),
        most=_most(laws, low),
        most_a_day=_most(days, low),
        calm=_quantiles(laws, figure("losses", "rearm_probability")),
        tail=low,
        false_alarms=_cried(birds, chances, _most(laws, low), _most(days, low)),
    )


def _laws(birds: NDArray[np.int64], chances: Array) -> list[Array]:
    """Return P(at most k lost so far) at the end of each day."""
    law, found = np.array([1.0]), []
    for there, chance in zip(birds, chances, strict=True):
        law = _next(law, int(there), float(chance))
        found.append(np.cumsum(law) / law.sum())
    return found


def _day_law(birds: int, chance: float) -> Array:
    """Return P(at most k of so many birds lost on one day), as far as there is any doubt."""
    law = np.cumsum(binomial.pmf(birds, chance))
    return law[: int(np.searchsorted(law, 1 - _TAIL)) + 1]


def _next(law: Array, base: int, chance: float, most_a_day: int | None = None) -> Array:
    """Return the law of the losses so far one day on; days of more than `most_a_day` are dropped from it."""
    alive = np.maximum(base - np.arange(len(law)), 0)
    most = most_a_day if most_a_day is not None else binomial.quantile(base, chance, 1 - _TAIL)
    most = min(most, int(alive[0]))
    after = np.zeros(len(law) + most)
    for dead, part in enumerate(_deaths(alive, chance, most)):
        after[dead : dead + len(law)] += law * part
    return after[: int(np.flatnonzero(after > _NOTHING)[-1]) + 1] if after.max() > _NOTHING else after[:1]


def _deaths(alive: NDArray[np.int64], chance: float, most: int) -> Array:
    """Return P(exactly k die) for k = 0..most (rows) of each number alive (columns)."""
    if chance <= 0:
        return np.vstack([np.ones(len(alive)), np.zeros((most, len(alive)))])
    k = np.arange(most)[:, None]
    with np.errstate(divide="ignore"):  # more than are alive cannot die: a chance of 0
        ratios = np.log(np.maximum(alive - k, 0) / (k + 1)) + np.log(chance) - np.log1p(-chance)
    start = alive * np.log1p(-chance)
    return np.exp(start + np.vstack([np.zeros(len(alive)), np.cumsum(ratios, axis=0)]))


def _quantiles(laws: list[Array], q: float) -> NDArray[np.int64]:
    """Return the least count of each law, given as P(at most k), that is not exceeded with chance q."""
    return np.array([min(int(np.searchsorted(law, q - _ROUNDING)), len(law) - 1) for law in laws])


def _most(laws: list[Array], tail: float) -> NDArray[np.int64]:
    return np.maximum(_quantiles(laws, 1 - tail), least() - 1)


def least() -> int:
    """Return the birds lost below which nobody is alarmed."""
    return int(figure("losses", "alarm_least_birds"))


def _cried(
    birds: NDArray[np.int64], chances: Array, most: NDArray[np.int64], most_a_day: NDArray[np.int64]
) -> float:
    """Return the chance of any alarm over all days at these limits: what never meets one is quiet, the rest cries."""
    quiet = np.array([1.0])
    for there, chance, limit, a_day in zip(birds, chances, most, most_a_day, strict=True):
        quiet = _next(quiet, int(there), float(chance), int(a_day))[: limit + 1]
    return max(1 - float(quiet.sum()), 0.0)
