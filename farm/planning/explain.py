"""Every broken rule in one plain sentence, with its numbers, days and batches."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta

from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning.breach import Breach
from farm.planning.cause import Cause, cause
from farm.planning.occupancy import Occupancy
from farm.planning.premises import Group, Room

DAYS_PER_WEEK = 7


def sentence(breach: Breach, load: Occupancy) -> Phrase:
    """Return what is wrong, when, why and by how much; `load` is the occupancy the breach was found in.

    The names of rooms and batches and the rooms' rules are read from it. Raises KeyError for a kind nobody
    explains.
    """
    return _SENTENCES[breach.kind](breach, _Names(load))


def span(breach: Breach) -> Phrase:
    """Return the days a breach lasts, as "on 9 May" or "from 9 May to 14 May" (its last day)."""
    last = breach.end - timedelta(days=1)
    if last == breach.start:
        return Phrase(N_("on %(day)s"), {"day": breach.start})
    return Phrase(N_("from %(first)s to %(last)s"), {"first": breach.start, "last": last})


class _Names:
    """Rooms and batches by key, as a sentence names them."""

    def __init__(self, load: Occupancy) -> None:
        self.load = load
        self.rooms: Mapping[str | None, Room] = {room.key: room for room in load.rooms}
        self.groups: Mapping[str, Group] = {group.key: group for group in load.groups}

    def room(self, breach: Breach) -> str:
        return self.rooms[breach.room].name

    def batch(self, key: str) -> Phrase | str:
        return self.groups[key].describe or self.groups[key].name

    def all(self, breach: Breach) -> Phrase:
        first, *others = (Phrase(N_("the %(batch)s"), {"batch": self.batch(key)}) for key in breach.groups)
        for other in others[:-1]:
            first = Phrase(N_("%(one)s, %(other)s"), {"one": first, "other": other})
        return Phrase(N_("%(one)s and %(other)s"), {"one": first, "other": others[-1]}) if others else first


def _too_small(text: str, text_when: str, unit: str) -> Callable[[Breach, _Names], Phrase]:
    def explain(breach: Breach, names: _Names) -> Phrase:
        values: dict[str, Value] = {
            "room": names.room(breach),
            "short": _legible(breach.short, unit),
            "day": breach.worst,
            "birds": _too_many(breach.birds),
        }
        found = cause(breach, names.load)
        said = (
            Phrase(text_when, values | {"cause": _because(found, names)}) if found else Phrase(text, values)
        )
        if breach.start == breach.worst:
            return said
        return Phrase(
            N_("%(worst)s; the shortage begins on %(start)s"), {"worst": said, "start": breach.start}
        )

    return explain


def _legible(value: float, unit: str) -> Quantity:
    """Return a quantity with as many decimals as it takes not to read 0."""
    digits = 1
    while round(value, digits) == 0 and digits < 6:
        digits += 1
    return Quantity(value, unit, digits)


def _too_many(birds: int) -> Phrase:
    return Phrase(N_("%(birds)d bird too many"), {"birds": birds}, N_("%(birds)d birds too many"), "birds")


def _count(birds: int) -> Phrase:
    return Phrase(N_("%(birds)d bird"), {"birds": birds}, N_("%(birds)d birds"), "birds")


def _days(days: int) -> Phrase:
    return Phrase(N_("%(days)d day"), {"days": days}, N_("%(days)d days"), "days")


def _because(found: Cause, names: _Names) -> Phrase:
    batch = names.batch(found.group)
    if found.kind == "arrival":
        return Phrase(N_("the %(batch)s move in"), {"batch": batch})
    if found.kind == "more":
        return Phrase(N_("more of the %(batch)s move in"), {"batch": batch})
    weeks, days = divmod(found.age_days, DAYS_PER_WEEK)
    if days:
        return Phrase(
            N_("the %(batch)s are %(days)d day old"),
            {"batch": batch, "days": found.age_days},
            N_("the %(batch)s are %(days)d days old"),
            "days",
        )
    return Phrase(
        N_("the %(batch)s pass %(weeks)d week"),
        {"batch": batch, "weeks": weeks},
        N_("the %(batch)s pass %(weeks)d weeks"),
        "weeks",
    )


def _heat(breach: Breach, names: _Names) -> Phrase:
    return Phrase(
        N_("%(room)s has no heat, but the %(batch)s in it need heat %(span)s: %(birds)s in the cold"),
        {
            "room": names.room(breach),
            "batch": names.batch(breach.groups[0]),
            "span": span(breach),
            "birds": _count(breach.birds),
        },
    )


def _age_gap(breach: Breach, names: _Names) -> Phrase:
    allowed = names.rooms[breach.room].max_age_gap_days or 0
    return Phrase(
        N_(
            "The %(oldest)s and the %(youngest)s share %(room)s %(span)s: %(gap)s apart in age, %(allowed)s "
            "allowed, %(birds)s"
        ),
        {
            "oldest": names.batch(breach.groups[0]),
            "youngest": names.batch(breach.groups[-1]),
            "room": names.room(breach),
            "span": span(breach),
            "gap": _days(allowed + round(breach.short)),
            "allowed": _days(allowed),
            "birds": _too_many(breach.birds),
        },
    )


def _species(breach: Breach, names: _Names) -> Phrase:
    values: dict[str, Value] = {
        "room": names.room(breach),
        "batches": names.all(breach),
        "span": span(breach),
        "birds": _too_many(breach.birds),
    }
    if len(breach.groups) == 1:
        return Phrase(
            N_("%(room)s is kept for other species, but %(batches)s are in it %(span)s: %(birds)s"),
            values,
        )
    return Phrase(
        N_("%(room)s holds %(batches)s together %(span)s, species that must never share: %(birds)s"),
        values,
    )


def _one_batch(breach: Breach, names: _Names) -> Phrase:
    return Phrase(
        N_("%(room)s is for one batch at a time, but %(batches)s are in it together %(span)s: %(birds)s"),
        {
            "room": names.room(breach),
            "batches": names.all(breach),
            "span": span(breach),
            "birds": _too_many(breach.birds),
        },
    )


def _rest(breach: Breach, names: _Names) -> Phrase:
    missing = round(breach.short)
    return Phrase(
        N_(
            "%(room)s has to rest until %(ready)s after the %(left)s, but the %(batch)s are in it "
            "%(span)s: %(missing)s too soon"
        ),
        {
            "room": names.room(breach),
            "ready": breach.start + timedelta(days=missing),
            "left": names.batch(breach.groups[1]),
            "batch": names.batch(breach.groups[0]),
            "span": span(breach),
            "missing": _days(missing),
        },
    )


def _service(breach: Breach, names: _Names) -> Phrase:
    return Phrase(
        N_("%(room)s is out of use %(span)s, but %(batches)s are in it: %(birds)s without a place"),
        {
            "room": names.room(breach),
            "span": span(breach),
            "batches": names.all(breach),
            "birds": _count(breach.birds),
        },
    )


def _unhoused(breach: Breach, names: _Names) -> Phrase:
    return Phrase(
        N_("%(birds)s of the %(batch)s have no housing %(span)s and ask for %(short)s"),
        {
            "birds": breach.birds,
            "batch": names.batch(breach.groups[0]),
            "span": span(breach),
            "short": _legible(breach.short, "m2"),
        },
    )


_SENTENCES: Mapping[str, Callable[[Breach, _Names], Phrase]] = {
    "room": _too_small(
        N_("%(room)s is %(short)s short on %(day)s: %(birds)s"),
        N_("%(room)s is %(short)s short on %(day)s, when %(cause)s: %(birds)s"),
        "m2",
    ),
    "feeder": _too_small(
        N_("%(room)s is %(short)s of feeder short on %(day)s: %(birds)s"),
        N_("%(room)s is %(short)s of feeder short on %(day)s, when %(cause)s: %(birds)s"),
        "cm",
    ),
    "drinker": _too_small(
        N_("%(room)s is %(short)s of drinker short on %(day)s: %(birds)s"),
        N_("%(room)s is %(short)s of drinker short on %(day)s, when %(cause)s: %(birds)s"),
        "cm",
    ),
    "heat": _heat,
    "age_gap": _age_gap,
    "species": _species,
    "one_batch": _one_batch,
    "rest": _rest,
    "service": _service,
    "unhoused": _unhoused,
}
