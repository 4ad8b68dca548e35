"""Every way to share few lines among few days, one lot a day and type: the best that any such proposal can be.

Knows only the machines' rule and the law of one line's birds; birds are there until the day they are old enough,
when all of a lot are handed over.
"""

from datetime import timedelta
from itertools import product

from farm.husbandry import odds, survival
from farm.husbandry.odds import Stage
from farm.planning.machines import EggLoad, conflicts
from tests.planning.ordering_world import DAYS


def best(need, pens):
    """(birds missing, lots, birds too many) of the best choice of a hatch day, or none, for every line."""
    choices = [[None, *days(need, line)] for line in need.wanted]
    found = None
    for chosen in product(*choices):
        lots = {}
        for line, hatch in zip(need.wanted, chosen, strict=True):
            if hatch is not None:
                lots.setdefault((line.type, hatch), []).append(line)
        missing = sum(line.birds for line, hatch in zip(need.wanted, chosen, strict=True) if hatch is None)
        if found is not None and (missing, len(lots)) > found[:2]:
            continue
        sizes = {key: eggs(need, key, lines) for key, lines in lots.items()}
        over = sum(
            max(hatched(need, key, sizes[key]) - sum(line.birds for line in lines), 0)
            for key, lines in lots.items()
        )
        value = missing, len(lots), over
        if (found is None or value < found) and in_pens(need, lots, sizes, pens) and in_machines(need, sizes):
            found = value
    return found


def days(need, line):
    """Hatch days on which a line's birds, handed over at one age, can be set and are in time."""
    age = timedelta(days=line.age_from_days)
    assert line.age_from_days == line.age_to_days
    found = []
    for at in range((line.to_on - line.from_on).days + 1):
        hatch = line.from_on + timedelta(days=at) - age
        set_on = hatch - timedelta(days=DAYS)
        allowed = (not need.set_weekdays or set_on.weekday() in need.set_weekdays) and (
            not need.hatch_weekdays or hatch.weekday() in need.hatch_weekdays
        )
        if set_on >= need.today and allowed:
            found.append(hatch)
    return found


def eggs(need, key, lines):
    kind = need.kinds[key[0]]
    lived = Stage("lived", survival.chance(kind.programme, 0, lines[0].age_from_days))
    return odds.smallest_start(sum(line.birds for line in lines), (*kind.hatch, lived), need.confidence)


def hatched(need, key, count):
    return -(-round(count * need.kinds[key[0]].hatch[0].chance * 1000) // 1000)


def in_pens(need, lots, sizes, pens):
    used = {}
    for key, lines in lots.items():
        for at in range(lines[0].age_from_days + 1):
            day = key[1] + timedelta(days=at)
            used[day] = used.get(day, 0) + hatched(need, key, sizes[key])
    return max(used.values(), default=0) <= pens


def in_machines(need, sizes):
    pairs = [
        (one.key, other.key)
        for one in need.machines
        for other in need.machines
        if (one is other and one.does == "both")
        or (one is not other and one.does != "hatcher" and other.does != "setter")
    ]
    for chosen in product(pairs, repeat=len(sizes)):
        put = zip(sizes.items(), chosen, strict=True)
        if not conflicts(need.machines, [_load(need, key, count, where) for (key, count), where in put]):
            return True
    return False


def _load(need, key, count, where):
    hatch, kind = key[1], need.kinds[key[0]]
    return EggLoad(
        f"{key[0]} {hatch}", "", kind.species, kind.size, count, *where,
        hatch - timedelta(days=DAYS), hatch - timedelta(days=3), hatch,
    )  # fmt: skip
