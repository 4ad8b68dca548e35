"""Fixed numbers of birds shared out anew: fewest pairs of line and batch, then the rest of the wishes, one by one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from farm.planning.exact.model import Model, Terms


class Choice(NamedTuple):
    """Birds of a source that a line may get on a step of the source's time.

    batch: sources of one batch make one pair with a line. later: they are not there yet. off: how far they are
    from the age the line would like best, whole.
    """

    line: int
    source: int
    step: int
    batch: int
    later: bool
    off: int


def share_out(
    choices: Sequence[Choice], fills: Mapping[int, int], limits: Mapping[int, Sequence[int]], seconds: float
) -> list[int] | None:
    """Return the birds of each choice, None where the best was not proved within about three times so many seconds.

    Every line gets its fill; from each source at most limits[source][step] birds go on that step or later. Of all
    such ways the one with the fewest pairs of line and batch, of those the one with the most birds that are there
    already, of those the one nearest to the ages that are liked best.
    """
    model, birds = Model(), list[int]()
    for choice in choices:
        birds.append(model.column(high=fills[choice.line], whole=True))
    pairs = _pairs(model, choices, birds, fills)
    _limit(model, choices, birds, fills, limits)
    wishes: tuple[Terms, ...] = (
        dict.fromkeys(pairs, 1.0),
        {column: 1.0 for column, choice in zip(birds, choices, strict=True) if choice.later},
        {column: float(choice.off) for column, choice in zip(birds, choices, strict=True) if choice.off},
    )
    found: list[int] | None = None
    for wish in wishes:
        if found is not None and not wish:
            continue
        model.costs = [wish.get(column, 0.0) for column in range(len(model.costs))]
        outcome = model.run(seconds)
        if not outcome.optimal or outcome.values is None:
            return None
        found = [round(float(outcome.values[column])) for column in birds]
        model.row(wish, high=round(outcome.cost))
    return found


def _pairs(
    model: Model, choices: Sequence[Choice], birds: Sequence[int], fills: Mapping[int, int]
) -> list[int]:
    """Add a column for each pair of line and batch, 1 where any birds of the batch go to the line."""
    found: dict[tuple[int, int], dict[int, float]] = defaultdict(dict)
    for column, choice in zip(birds, choices, strict=True):
        found[choice.line, choice.batch][column] = 1.0
    columns = []
    for (line, _), terms in found.items():
        columns.append(model.column(whole=True))
        model.row({**terms, columns[-1]: -float(fills[line])}, high=0)
    return columns


def _limit(
    model: Model,
    choices: Sequence[Choice],
    birds: Sequence[int],
    fills: Mapping[int, int],
    limits: Mapping[int, Sequence[int]],
) -> None:
    by_line: dict[int, dict[int, float]] = defaultdict(dict)
    by_source: dict[int, dict[int, int]] = defaultdict(dict)
    for column, choice in zip(birds, choices, strict=True):
        by_line[choice.line][column] = 1.0
        by_source[choice.source][column] = choice.step
    for line, terms in by_line.items():
        model.row(terms, low=fills[line], high=fills[line])
    for source, steps in by_source.items():
        for first in sorted(set(steps.values())):
            later = {column: 1.0 for column, step in steps.items() if step >= first}
            model.row(later, high=min(limits[source][: first + 1]))
