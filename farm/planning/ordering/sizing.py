"""How many eggs, or chicks, so that every line of a batch is met as surely as asked.

A batch's lines take their birds one after the other, at the ages they are handed over; in between birds are lost. With
L(i) the law of the birds still there when line i comes, and D(i) what it still lacks,

    L(i + 1) = what is left of  max(L(i) - D(i), 0)  at the next age,      chance of line i = P(L(i) >= D(i)).

All that is exact where a batch's lines ask for one sex, or for no sex. Where both kinds meet, the birds of one sex and
all birds together are two such rows, and a line needs both: its chance is at least the sum of the two less 1, with
birds as hatched taken first from those nobody else wants. That needs the others' birds counted already: birds as
hatched that go earlier are parted into so many of each sex beforehand, in the shares that leave both equally well off.
A bound on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from farm.husbandry import odds, survival
from farm.husbandry.first_enough import first_enough
from farm.husbandry.odds import Stage
from farm.planning.ordering.records import ANY, FEMALE, MALE, Law, OrderKind

#: The most eggs of one set, or chicks of one intake.
MOST = 10_000


@dataclass(frozen=True, slots=True)
class Ask:
    """What one line lacks: `birds` of a sex at an age. besides: P(so many of them come from elsewhere) for 0, 1, ..."""

    birds: int
    sex: str
    age_days: int
    besides: tuple[float, ...] = (1.0,)


@dataclass(frozen=True, slots=True)
class Start:
    """How a batch begins: of which sex ("any": as hatched), through which stages, and at which age they end."""

    stages: tuple[Stage, ...]
    sex: str
    age_days: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a line may count on: the chance that it is met, and the birds expected for it, those from elsewhere too."""

    chance: float
    expected: float


def hatching(kind: OrderKind) -> Start:
    """Return the start of a batch from eggs."""
    return Start(kind.hatch, ANY, 0)


def bought(kind: OrderKind, sex: str, age_days: int) -> Start:
    """Return the start of a batch of bought chicks."""
    return Start((kind.arrives,), sex, age_days)


class Sizer:
    """Sizes for one confidence; what was worked out once is kept."""

    def __init__(self, confidence: float) -> None:
        self.confidence = confidence
        self._kept: dict[tuple[str, Start, tuple[Ask, ...]], int | None] = {}

    def smallest(self, kind: OrderKind, start: Start, asks: Sequence[Ask]) -> int | None:
        """Return the fewest eggs or chicks that meet all asks together with the confidence; None if MOST do not."""
        rows = tuple(sorted(asks, key=_by_age))
        key = kind.type, start, rows
        if key not in self._kept:
            enough = self.confidence - odds.ROUNDING
            guess = max(_guess(kind, start, rows), 1)
            self._kept[key] = first_enough(
                lambda n: all_met(kind, start, n, rows) >= enough, min(guess, MOST), MOST
            )
        return self._kept[key]


def all_met(kind: OrderKind, start: Start, n: int, asks: Iterable[Ask]) -> float:
    """Return the chance, or a bound below it, that n meet every ask."""
    listed = list(asks)
    parts = [part for ask in listed for part in _parts(kind, start, ask, listed)]
    return max(1 - sum(1 - _all_met(kind, start, n, *row) for row in _rows(start, parts)), 0.0)


def outcomes(kind: OrderKind, start: Start, n: int, asks: Sequence[Ask]) -> list[Outcome]:
    """Return what each ask may count on, in the order of `asks`, of a batch of n."""
    parts = [(at, part) for at, ask in enumerate(asks) for part in _parts(kind, start, ask, asks)]
    order = sorted(range(len(parts)), key=lambda at: _by_age(parts[at][1]))
    lost, expected = [0.0] * len(parts), [float("inf")] * len(parts)
    for sex, row in _rows(start, [part for _, part in parts]):
        places = [at for at in order if _in_row(sex, parts[at][1], start)]
        for at, (chance, birds) in zip(places, _one_by_one(kind, start, n, sex, row), strict=True):
            lost[at] += 1 - chance
            expected[at] = min(expected[at], birds)
    return [
        Outcome(
            max(1 - sum(lost[at] for at, (of, _) in enumerate(parts) if of == ask), 0.0),
            sum(expected[at] for at, (of, _) in enumerate(parts) if of == ask),
        )
        for ask in range(len(asks))
    ]


def available(kind: OrderKind, start: Start, n: int, sex: str, age_days: int) -> Law:
    """Return the law of the birds of a sex alive at an age, of n eggs or chicks."""
    return odds.birds(n, _through(kind, start, sex, age_days))


def begun(start: Start, n: int) -> Law:
    """Return the law of the chicks hatched, or alive on arrival."""
    return odds.birds(n, start.stages)


def chance_each(start: Start) -> float:
    """Return the chance that an egg or a bought chick is there on the first day."""
    return math.prod(stage.chance for stage in start.stages)


def lived(kind: OrderKind, from_age: int, to_age: int) -> Stage:
    """Return the stage of living from one age to another."""
    return Stage("lived", survival.chance(kind.programme, from_age, to_age), kind.prior_birds)


def share_of(kind: OrderKind, start: Start, sex: str) -> float:
    """Return the share of a batch's chicks that are of a sex wanted."""
    if sex == ANY or start.sex == sex:
        return 1.0
    if start.sex != ANY:
        return 0.0
    return kind.female_share if sex == FEMALE else 1 - kind.female_share


def _through(kind: OrderKind, start: Start, sex: str, age_days: int) -> tuple[Stage, ...]:
    share = share_of(kind, start, sex)
    return (*start.stages, Stage(sex, share), lived(kind, start.age_days, max(age_days, start.age_days)))


def _parts(kind: OrderKind, start: Start, ask: Ask, asks: Sequence[Ask]) -> tuple[Ask, ...]:
    """Return an ask, parted by sex where it takes birds as hatched before all that ask for a sex have theirs."""
    sexed = [each for each in asks if each.sex != ANY]
    if (
        start.sex != ANY
        or ask.sex != ANY
        or ask.age_days >= max((each.age_days for each in sexed), default=0)
    ):
        return (ask,)
    early = [each for each in asks if each.sex == ANY and each.age_days < max(row.age_days for row in sexed)]
    females = sum(each.birds for each in sexed if each.sex == FEMALE)
    free = sum(each.birds for each in early)
    wanted = free + sum(each.birds for each in sexed)
    share = min(max((kind.female_share * wanted - females) / free, 0.0), 1.0)
    of_them = round(share * ask.birds)
    large, small = (FEMALE, MALE) if 2 * of_them >= ask.birds else (MALE, FEMALE)
    rest = ask.birds - max(of_them, ask.birds - of_them)
    parts = (replace(ask, sex=large, birds=ask.birds - rest), Ask(rest, small, ask.age_days))
    return parts if rest else parts[:1]


def _rows(start: Start, asks: Iterable[Ask]) -> list[tuple[str, tuple[Ask, ...]]]:
    """Return the rows to judge: by sex, and all together where birds as hatched meet birds of a sex."""
    listed = sorted(asks, key=_by_age)
    sexes = sorted({_sex(start, ask) for ask in listed})
    if len(sexes) > 1 and ANY not in sexes:
        return [(sex, tuple(ask for ask in listed if ask.sex == sex)) for sex in sexes]
    return [(sex, tuple(ask for ask in listed if _in_row(sex, ask, start))) for sex in sexes]


def _in_row(sex: str, ask: Ask, start: Start) -> bool:
    return sex == ANY or _sex(start, ask) == sex


def _sex(start: Start, ask: Ask) -> str:
    return ANY if ask.sex == start.sex else ask.sex


def _all_met(kind: OrderKind, start: Start, n: int, sex: str, row: Sequence[Ask]) -> float:
    met, age = 1.0, row[0].age_days
    law = available(kind, start, n, sex, age)
    for ask in row:
        if ask.age_days > age:
            law, age = odds.after(law, (lived(kind, age, ask.age_days),)), ask.age_days
        left = _less(law, ask)
        share = float(left.sum())
        if share <= 0:
            return 0.0
        met, law = met * min(share, 1.0), left / share
    return met


def _one_by_one(
    kind: OrderKind, start: Start, n: int, sex: str, row: Sequence[Ask]
) -> list[tuple[float, float]]:
    found, age = [], row[0].age_days
    law = available(kind, start, n, sex, age)
    for ask in row:
        if ask.age_days > age:
            law, age = odds.after(law, (lived(kind, age, ask.age_days),)), ask.age_days
        left = _less(law, ask)
        chance = min(float(left.sum()), 1.0)
        found.append((chance, _expected(law, ask)))
        left[0] += max(1 - chance, 0.0)
        law = left / left.sum()
    return found


def _less(law: Law, ask: Ask) -> Law:
    """Return P(met and so many left), of length at least 1; it adds to the chance of being met."""
    left = np.zeros(max(len(law), 1))
    for elsewhere, chance in enumerate(ask.besides):
        lacking = max(ask.birds - elsewhere, 0)
        if chance > 0 and lacking < len(law):
            left[: len(law) - lacking] += chance * law[lacking:]
    return left


def _expected(law: Law, ask: Ask) -> float:
    total = 0.0
    counts = np.arange(len(law))
    for elsewhere, chance in enumerate(ask.besides):
        total += chance * float(law @ np.minimum(counts + elsewhere, ask.birds))
    return total


def _by_age(ask: Ask) -> tuple[int, str, int, tuple[float, ...]]:
    return ask.age_days, ask.sex, ask.birds, ask.besides


def _guess(kind: OrderKind, start: Start, asks: Sequence[Ask]) -> int:
    """Return about how many will do; only how soon the search ends hangs on it."""
    needed = 0.0
    for sex, row in _rows(start, asks):
        each = math.prod(stage.chance for stage in _through(kind, start, sex, row[-1].age_days))
        wanted = sum(max(ask.birds - odds.mean(ask.besides), 0) for ask in row)
        needed = max(needed, (wanted + 1.3 * math.sqrt(wanted + 1)) / max(each, 1e-3))
    return round(min(needed, MOST))
