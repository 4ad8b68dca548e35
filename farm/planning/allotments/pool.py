"""Who may get what: batches as parts by sex, lines by rank, and the day of each possible hand-over.

A straight-run or imperfectly sexed batch is seen as two parts, females and males, but only where a line that could
take from it, or a hold on it, asks for a sex. What is approximated: the two parts are counted as if they were
independent, while a bird that is no female is a male.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from farm.husbandry import odds, survival
from farm.planning.allotments.records import Sex, Supply, Wanted


@dataclass(frozen=True, slots=True)
class Part:
    """The birds of a batch that count alike.

    share: of the batch's birds. held: birds no line may take. days: of possible hand-overs, in order; alive: birds
    expected alive on each if none were given, exact means.
    """

    supply: Supply
    sex: Sex
    share: float
    held: int
    days: tuple[date, ...]
    alive: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """A line and a part that can serve it. bucket: the place of the hand-over day in the part's days.

    off: how far the birds' age is from the middle of the line's ages, in half days.
    """

    line: int
    part: int
    bucket: int
    off: int


@dataclass(frozen=True)
class Pool:
    """The whole question, in an order that does not hang on that of its input.

    lines: by rank. parts: by batch key, females before males. pairs: by line, the best first: live birds, then those
    nearest the middle of the ages.
    """

    today: date
    supplies: tuple[Supply, ...]
    lines: tuple[Wanted, ...]
    parts: tuple[Part, ...]
    pairs: tuple[Pair, ...]
    by_line: tuple[tuple[int, ...], ...] = field(init=False)
    by_part: tuple[tuple[int, ...], ...] = field(init=False)

    def __post_init__(self) -> None:
        by_line: list[list[int]] = [[] for _ in self.lines]
        by_part: list[list[int]] = [[] for _ in self.parts]
        for place, pair in enumerate(self.pairs):
            by_line[pair.line].append(place)
            by_part[pair.part].append(place)
        object.__setattr__(self, "by_line", tuple(map(tuple, by_line)))
        object.__setattr__(self, "by_part", tuple(map(tuple, by_part)))

    def day(self, pair: Pair) -> date:
        """Return the day of the pair's hand-over."""
        return self.parts[pair.part].days[pair.bucket]


def pool(supplies: Iterable[Supply], wanted: Iterable[Wanted], today: date) -> Pool:
    """Return the question put in order. Raises ValueError where two supplies, or two lines, share a key."""
    stock = tuple(sorted(supplies, key=lambda supply: supply.key))
    lines = tuple(sorted(wanted, key=lambda line: line.rank))
    if len({supply.key for supply in stock}) < len(stock) or len({line.key for line in lines}) < len(lines):
        raise ValueError("every supply and every line needs a key of its own")
    parts: list[Part] = []
    pairs: list[Pair] = []
    for supply in stock:
        days = {
            place: day
            for place, line in enumerate(lines)
            if (day := hand_over_day(supply, line, today)) is not None
        }
        for part in _parts(supply, [lines[place] for place in days], tuple(sorted(set(days.values())))):
            pairs += _pairs(part, len(parts), lines, days)
            parts.append(part)
    pairs.sort(key=lambda pair: (pair.line, not parts[pair.part].supply.live, pair.off, pair.part))
    return Pool(today, stock, lines, tuple(parts), tuple(pairs))


def hand_over_day(supply: Supply, line: Wanted, today: date) -> date | None:
    """Return the first day on which birds of a supply may be given for a line, None where there is none."""
    if not is_kind(supply, line) or not has_sex(supply, line.sex):
        return None
    day = max(
        line.from_on,
        supply.from_on,
        supply.known_on,
        today,
        supply.hatch_day + timedelta(days=line.age_from_days),
    )
    gone = supply.until is not None and day >= supply.until
    too_old = (day - supply.hatch_day).days > line.age_to_days
    return None if gone or too_old or day > line.to_on else day


def is_kind(supply: Supply, line: Wanted) -> bool:
    """Return whether the birds of a supply are of the type a line asks for, and of its breed where it names one."""
    return supply.type == line.type and line.breed.casefold() in ("", supply.breed.casefold())


def has_sex(supply: Supply, sex: Sex) -> bool:
    """Return whether any bird of a supply is of a sex."""
    return supply.female_share > 0 if sex == "female" else sex == "any" or supply.female_share < 1


def alive_share(supply: Supply, day: date) -> float:
    """Return the chance that a bird alive when the supply's law was known is alive on a day, not before it."""
    known, then = ((each - supply.hatch_day).days for each in (supply.known_on, day))
    return survival.chance(supply.programme, known, then)


def _parts(supply: Supply, lines: Sequence[Wanted], days: tuple[date, ...]) -> list[Part]:
    asked = [line.sex for line in lines if line.sex != "any"]
    mean = odds.mean(supply.law)
    alive = [mean * alive_share(supply, day) for day in days]
    if not asked and all(hold.sex == "any" for hold in supply.holds):
        held = sum(hold.birds for hold in supply.holds)
        return [Part(supply, "any", 1.0, held, days, tuple(alive))]
    sexes: tuple[tuple[Sex, float], ...] = (
        ("female", supply.female_share),
        ("male", 1 - supply.female_share),
    )
    held_by = _held(supply, mean, asked[0] if asked else None)
    return [
        Part(supply, sex, share, held_by[sex], days, tuple(share * birds for birds in alive))
        for sex, share in sexes
        if share > 0
    ]


def _held(supply: Supply, mean: float, asked: Sex | None) -> dict[Sex, int]:
    """Return the birds held by sex. A hold on any birds falls first on the sex the first line does not ask for."""
    held: dict[Sex, int] = {"female": 0, "male": 0}
    for hold in supply.holds:
        if hold.sex != "any":
            held[hold.sex] += hold.birds
    of_any = sum(hold.birds for hold in supply.holds if hold.sex == "any")
    order: tuple[Sex, Sex] = ("female", "male") if asked == "male" else ("male", "female")
    kept, wanted = order
    share = supply.female_share if kept == "female" else 1 - supply.female_share
    here = min(of_any, max(int(mean * share) - held[kept], 0))
    held[kept] += here
    held[wanted] += of_any - here
    return held


def _pairs(part: Part, place: int, lines: Sequence[Wanted], days: dict[int, date]) -> list[Pair]:
    found = []
    for line, day in days.items():
        wanted = lines[line]
        if part.sex in ("any", wanted.sex) or wanted.sex == "any":
            age = (day - part.supply.hatch_day).days
            off = abs(2 * age - wanted.age_from_days - wanted.age_to_days)
            found.append(Pair(line, place, part.days.index(day), off))
    return found
