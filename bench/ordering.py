"""A year of 120 order lines planned backwards, 3 machines, 8 brooders, beside a set per line on its earliest day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Literal

from bench.timing import seconds
from farm.husbandry.odds import Stage
from farm.planning.allotments.records import Wanted
from farm.planning.machines import Machine
from farm.planning.ordering import Need, OrderKind, PlannedRoom, Proposal, Supplier, horizon, propose
from farm.planning.ordering.draft import Draft
from farm.planning.problem import Arrival, Batch, Demand, Housing, Problem
from farm.planning.problem import Stage as Span
from farm.trade import load

GOAL_SECONDS = 5.0
TODAY = date(2031, 1, 6)
LINES, WEEKS, BROODERS = 120, 52, 8
#: Made up: programme, hatched of eggs set, cm² a bird by week, weight of the type in the draw.
TYPES = (("layer", 0.7, (250, 300, 400, 500, 600, 700, 800, 900)), ("meat", 0.7, (250, 350, 500, 700, 850, 1000)),
         ("duck", 0.65, (300, 600, 1000, 1500, 2000)))  # fmt: skip
#: Made up: youngest and oldest age in days of what customers ask for.
AGES = ((1, 4), (1, 4), (7, 14), (21, 28), (28, 42))


def measure() -> bool:
    """Print time, birds missing and batches of both; return whether it is quick and never the worse one."""
    need = year(1)
    found: list[Proposal] = []
    took = seconds(lambda: found.append(propose(need)))
    again = propose(need)
    alone = propose(replace(need, suppliers=()))
    simple = one_set_each(need)
    proposal = found[0]
    met = sum(line.short_birds == 0 for line in proposal.lines.values())
    print(
        f"  {LINES} lines: {took:5.2f} s (goal {GOAL_SECONDS} s), {met} met, {proposal.short_birds} birds missing, "
        f"{len(proposal.sets)} sets and {len(proposal.intakes)} intakes"
    )
    # The simple rule may not buy either: this line is the fair comparison.
    print(
        f"  eggs alone:    {sum(not line.short_birds for line in alone.lines.values())} met, {alone.short_birds} birds "
        f"missing, {len(alone.sets)} sets"
    )
    print(f"  one set each:  {simple[0]} met, {simple[1]} birds missing, {simple[2]} sets")
    better = max(proposal.short_birds, alone.short_birds) <= simple[1]
    return took <= GOAL_SECONDS and better and again.digest == proposal.digest


def year(seed: int, lines: int = LINES) -> Need:
    """Return an invented farm's orders for a year: the same for the same seed."""
    random = Random(seed)
    kinds = {each.type: each for each in map(_kind, TYPES)}
    wanted = tuple(_line(random, number) for number in range(lines))
    return Need(
        today=TODAY,
        wanted=wanted,
        kinds=kinds,
        machines=(
            Machine("setter", "Setter", "setter", {"medium": 240, "large": 160}),
            Machine("hatcher", "Hatcher", "hatcher", {"medium": 160, "large": 110}),
            Machine("incubator", "Incubator", "both", {"medium": 120, "large": 80}),
        ),
        rooms=PlannedRoom(farm(), (), tuple(map(_template, TYPES)), days=horizon(farm(), wanted)),
        suppliers=(Supplier("post", "By post", frozenset({TYPES[0][0]}), frozenset({2}), 50, 14, True),),
        set_weekdays=frozenset({0, 3, 5}),
    )


def farm() -> Problem:
    """Return eight empty brooders."""
    brooders = tuple(
        Housing(
            f"brooder-{at}", f"Brooder {at + 1}", "brooder", (300, 400, 600)[at % 3], heated=True,
            one_batch=at % 2 == 0, max_age_gap_days=7, rest_days=3 if at % 2 == 0 else 0,
        )
        for at in range(BROODERS)
    )  # fmt: skip
    return Problem(TODAY, WEEKS * 7, brooders, ())


def one_set_each(need: Need) -> tuple[int, int, int]:
    """Return lines met, birds missing and sets where each line gets a set of its own on its earliest day with room."""
    draft = Draft(replace(need, suppliers=()))
    for line in sorted(range(len(draft.lines)), key=lambda at: draft.lines[at].rank):
        days: Sequence = draft.set_days[line][::-1]
        any(draft.begin(day, (line,)) for day in days)
    result = sum(not short for short in draft.short), sum(draft.short), len(draft.lots)
    draft.back(0)
    return result


def _kind(given: tuple[str, float, tuple[int, ...]]) -> OrderKind:
    key, hatch, _ = given
    programme = load.programmes()[_PROGRAMME[key]]
    size = "large" if key == "duck" else "medium"
    return OrderKind(
        key, key, programme, programme.species, size, (Stage("hatched", hatch, 50.0),), 0.5, True,
        Stage("arrives", 0.97),
    )  # fmt: skip


def _template(given: tuple[str, float, tuple[int, ...]]) -> Batch:
    key, _, floor = given
    days = range(84)
    demand = Demand(
        tuple(floor[min(day // 7, len(floor) - 1)] * 100 for day in days),
        (0,) * 84,
        (0,) * 84,
        tuple(day < 28 for day in days),
    )
    species = "duck" if key == "duck" else "chicken"
    return Batch(key, key, species, 100, demand, (Span(frozenset({"brooder"}), 0),), Arrival(TODAY))


def _line(random: Random, number: int) -> Wanted:
    kind = random.choice(("layer", "layer", "meat", "duck"))
    young, old = random.choice(AGES)
    first = TODAY + timedelta(days=random.randrange(7 * 5, 7 * WEEKS))
    sexes: tuple[Literal["any", "female", "male"], ...] = ("any", "female", "female", "male")
    sex = random.choice(sexes if kind == "layer" else sexes[:1])
    return Wanted(
        f"line-{number:03}", f"order {number}", kind, sex, young, old, random.randrange(5, 45), first,
        first + timedelta(days=random.choice((2, 6, 13))),
    )  # fmt: skip


_PROGRAMME = {"layer": "chicken_layer_brown", "meat": "chicken_meat", "duck": "duck"}
