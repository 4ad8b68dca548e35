"""A judge who walks through the farm one day at a time and writes down what is broken, sharing nothing with `check`.

A finding is {(kind, room, batch or ""): {day: (short, fewest birds out)}}.
"""

from collections import defaultdict
from datetime import timedelta
from itertools import product

MARGIN = 1e-6
MEASURES = {"room": "area_m2", "feeder": "feeder_cm", "drinker": "drinker_cm"}


def judge(window, rooms, groups, parts, apart):
    """Everything broken on each day of the window."""
    findings = defaultdict(dict)
    by_key = {group.key: group for group in groups}
    for room, day in product(rooms, window.dates()):
        here = birds_in(window, room, day, parts)
        if here:
            for key, amount in room_day(window, room, day, here, by_key, parts, apart):
                findings[key][day] = amount
    return dict(findings)


def birds_in(window, room, day, parts):
    here = defaultdict(int)
    for part in parts:
        if part.room == room.key and part.birds[window.index(day)]:
            here[part.group] += int(part.birds[window.index(day)])
    return dict(here)


def room_day(window, room, day, here, groups, parts, apart):
    each = [key for key, birds in here.items() for _ in range(birds)]
    if not in_service(room, day):
        yield ("service", room.key, ""), (sum(asks(groups[key], "area_m2", day) for key in each), len(each))
    else:
        for kind, measure in MEASURES.items():
            yield from too_small(
                room, kind, getattr(room, measure), [asks(groups[k], measure, day) for k in each]
            )
    yield from company(room, here, groups, day, apart)
    for key, birds in here.items():
        cold = sum(
            int(part.birds[window.index(day)])
            for part in parts
            if part.room == room.key and part.group == key and not part.override
        )
        if cold and not room.heated and asks(groups[key], "heat", day):
            yield ("heat", room.key, key), (cold, cold)
        if room.species and groups[key].species not in room.species:
            yield ("foreign", room.key, key), (birds, birds)


def in_service(room, day):
    return not (room.in_service_from and day < room.in_service_from) and not (
        room.in_service_to and day >= room.in_service_to
    )


def asks(group, measure, day):
    age = (day - group.hatch_day).days
    values = getattr(group.needs, measure)
    return 0 if age < 0 else values[min(age, len(values) - 1)]


def too_small(room, kind, given, asked):
    if (not given and kind != "room") or sum(asked) <= given + MARGIN:
        return
    left = sorted(asked)
    while sum(left) > given + MARGIN:
        left.pop()
    yield (kind, room.key, ""), (sum(asked) - given, len(asked) - len(left))


def company(room, here, groups, day, apart):
    hatched = {key: groups[key].hatch_day for key in here}
    allowed = room.max_age_gap_days
    oldest, youngest = min(hatched.values()), max(hatched.values())
    if allowed is not None and (youngest - oldest).days > allowed:

        def fits(kept):
            born = [hatched[key] for key in kept]
            return not born or (max(born) - min(born)).days <= allowed

        yield ("age_gap", room.key, ""), ((youngest - oldest).days - allowed, fewest_out(here, fits))

    def quarrel(one, other):
        return frozenset((groups[one].species, groups[other].species)) in apart

    def peace(kept):
        return not any(quarrel(one, other) for one in kept for other in kept)

    in_it = {key for key in here if any(quarrel(key, other) for other in here)}
    if in_it:
        yield ("species", room.key, ""), (sum(here[key] for key in in_it), fewest_out(here, peace))
    if room.one_batch and len(here) > 1:
        yield ("one_batch", room.key, ""), (len(here) - 1, fewest_out(here, lambda kept: len(kept) <= 1))


def fewest_out(here, fits):
    """Try every set of batches that might stay."""
    keys = list(here)
    choices = product((False, True), repeat=len(keys))
    kept = ([key for key, stays in zip(keys, choice, strict=True) if stays] for choice in choices)
    return sum(here.values()) - max(sum(here[key] for key in some) for some in kept if fits(some))


def too_soon(window, rooms, parts):
    """(room, batch, day) for each day a batch is in a room before another's rest there is over.

    Only for stays inside the window: what was before it is another test's matter.
    """
    found = set()
    for room in rooms:
        present = {day: set(birds_in(window, room, day, parts)) for day in window.dates()}
        for day in window.dates():
            for key in present[day]:
                arrived = day
                while key in present.get(arrived - timedelta(days=1), ()):
                    arrived -= timedelta(days=1)
                if any(
                    left_by(present, other, arrived, day, room.rest_days) for other in names(present) - {key}
                ):
                    found.add((room.key, key, day))
    return found


def names(present):
    return set().union(*present.values())


def left_by(present, other, arrived, day, rest_days):
    """Whether `other` was inside at some time before `arrived`, gone by then, and not yet `rest_days` on `day`."""
    for back in range(rest_days):
        last_inside = day - timedelta(days=back + 1)
        after = last_inside + timedelta(days=1)
        if (
            last_inside < arrived
            and other in present.get(last_inside, ())
            and other not in present.get(after, ())
        ):
            return True
    return False
