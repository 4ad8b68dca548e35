"""One invented farm as the seed makes it up, before it is a record: who lives there, what was counted and sold."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from farm.husbandry import space
from farm.services.synthetic.words import (
    ADJECTIVES,
    BIRDS,
    CUSTOMERS,
    OLDEST_DAYS,
    PEOPLE,
    PLACES,
    PROGRAMMES,
    ROOM,
    SITES,
)
from farm.trade import load
from farm.trade.programme import Programme

#: Age at which the room is reckoned that a brooder's birds, and a pen's, will need.
_PEN_AGE = 84
_SOLD_FROM, _SOLD_MOST = 42, 10  # days old; birds handed over at most


@dataclass(frozen=True, slots=True)
class Flock:
    """A batch and its two places. Days are ages: 0 the hatch day, on which it came.

    losses: (age, birds, taken back) of lines of the ledger. moves_at: the age at which it goes from brooder to pen.
    sold: birds handed over at `sold_at`, none when 0.
    """

    programme: str
    birds: int
    age: int
    moves_at: int
    losses: tuple[tuple[int, int, bool], ...]
    brooder_m2: float
    pen_m2: float
    sold: int = 0
    sold_at: int = 0

    def alive_at(self, age: int) -> int:
        """Return the birds alive at the end of the day they are so old; of days to come, those alive now."""
        lost = sum(birds for day, birds, back in self.losses if day <= age and not back)
        return self.birds - lost - (self.sold if self.sold and self.sold_at <= age else 0)


@dataclass(frozen=True, slots=True)
class Scene:
    """A farm: its people as (name, role), its flocks, and how many birds customers wait for."""

    name: str
    site: tuple[str, str, float, float]
    people: tuple[tuple[str, str], ...]
    flocks: tuple[Flock, ...]
    customer: str
    waited_for: int


def scene(seed: int, number: int, batches: tuple[int, int]) -> Scene:
    """Return the farm of that number: the same for the same seed, whatever others are made.

    batches: the fewest and the most of a farm.
    """
    random = Random(f"{seed}/{number}")
    kept = random.choices(list(PROGRAMMES), weights=list(PROGRAMMES.values()), k=2)
    names = random.sample(PEOPLE, random.randint(1, 4))
    roles = ("keeper", *(random.choice(("helper", "helper", "child", "keeper")) for _ in names[1:]))
    flocks = tuple(_flock(random, random.choice(kept)) for _ in range(random.randint(*batches)))
    return Scene(
        name=f"{random.choice(ADJECTIVES)} {random.choice(PLACES)} {number}",
        site=random.choice(SITES),
        people=tuple(zip(names, roles, strict=True)),
        flocks=flocks,
        customer=random.choice(CUSTOMERS),
        waited_for=random.randint(2, 20),
    )


def _flock(random: Random, key: str) -> Flock:
    programme = load.programmes()[key]
    birds, age = random.randint(*BIRDS), random.randint(0, OLDEST_DAYS)
    moves_at = programme.rules["heat_off_latest_day"].value
    losses = tuple(
        (day, random.randint(1, 2), random.random() < 0.1)
        for day in sorted(random.sample(range(1, 15), 3))
        if day < min(age, moves_at)
    )
    sold_at = random.randint(max(_SOLD_FROM, int(moves_at) + 1), OLDEST_DAYS)
    return Flock(
        programme=key,
        birds=birds,
        age=age,
        moves_at=int(moves_at),
        losses=losses,
        brooder_m2=_room(random, programme, birds, int(moves_at) - 1),
        pen_m2=_room(random, programme, birds, _PEN_AGE),
        sold=random.randint(1, min(_SOLD_MOST, birds // 2)) if sold_at < age else 0,
        sold_at=sold_at,
    )


def _room(random: Random, programme: Programme, birds: int, age: int) -> float:
    return round(birds * float(space.area_m2(programme, [age])[0]) * random.uniform(*ROOM), 1)
