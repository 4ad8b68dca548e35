"""A small farm that plans backwards from orders: one incubator, plain brooders that count birds, meat chicks."""

from dataclasses import replace
from datetime import date, timedelta

from farm.husbandry.odds import Stage
from farm.planning.allotments.records import Wanted
from farm.planning.machines import EggLoad, Machine, conflicts
from farm.planning.ordering import Need, OrderKind, Supplier
from farm.trade import load

TODAY = date(2031, 3, 3)  # a Monday
DAYS = 21  # from set to hatch


def day(number):
    """Day `number` from today; eggs set today hatch on day 21."""
    return TODAY + timedelta(days=number)


def kind(type="meat", **changes):
    programme = load.programmes()["chicken_meat"]
    given = OrderKind(
        type,
        type,
        programme,
        "chicken",
        "medium",
        (Stage("hatched", 0.7),),
        0.5,
        True,
        Stage("arrives", 0.95),
    )
    return replace(given, **changes)


def line(key="a", first=28, last=30, birds=10, ages=(7, 7), **changes):
    """Ten chicks a week old, to be handed over on days 28 to 30."""
    given = Wanted(key, f"order {key}", "meat", "any", *ages, birds, day(first), day(last))
    return replace(given, **changes)


def machine(key="incubator", eggs=100, **changes):
    return replace(Machine(key, key.title(), "both", {"medium": eggs}), **changes)


def supplier(**changes):
    return replace(Supplier("shop", "The shop", frozenset({"meat"}), lead_days=3), **changes)


class Pens:
    """So many birds on every day, whatever they are; satisfies `BrooderRoom`."""

    def __init__(self, birds=10_000):
        self.birds, self.used = birds, {}

    def _days(self, arrival, leaves_on):
        return [arrival + timedelta(days=at) for at in range((leaves_on - arrival).days)]

    def most(self, kind, arrival, age_days, leaves_on):
        return min(
            (self.birds - self.used.get(at, 0) for at in self._days(arrival, leaves_on)), default=1 << 30
        )

    def take(self, kind, arrival, age_days, birds, leaves_on):
        if birds > self.most(kind, arrival, age_days, leaves_on):
            return None
        taken = birds, self._days(arrival, leaves_on)
        self.put_back(taken)
        return taken

    def put_back(self, taken):
        birds, days = taken
        for at in days:
            self.used[at] = self.used.get(at, 0) + birds

    def give_back(self, taken):
        birds, days = taken
        for at in days:
            self.used[at] -= birds

    def stays(self, taken):
        return ()

    def narrowest(self, kind, arrival, age_days, leaves_on):
        days = self._days(arrival, leaves_on)
        return (
            ("the pens", max(days, key=lambda at: (self.used.get(at, 0), -at.toordinal()))) if days else None
        )


def need(*lines, rooms=None, **changes):
    kinds = {"meat": kind(), "layer": kind("layer"), "bought": kind("bought", can_set=False)}
    given = Need(TODAY, tuple(lines), kinds, (machine(),), rooms or Pens(), tries=40)
    return replace(given, **changes)


def loads(given, proposal):
    """The eggs of a proposal as loads, beside those that are there."""
    return [
        *given.loads,
        *(
            EggLoad(
                f"proposed {each.key}", each.key, given.kinds[each.type].species, given.kinds[each.type].size,
                each.eggs, each.setter, each.hatcher, each.set_on, each.hatch_day - timedelta(days=3), each.hatch_day,
            )
            for each in proposal.sets
        ),
    ]  # fmt: skip


def clashes(given, proposal):
    return conflicts(given.machines, loads(given, proposal))
