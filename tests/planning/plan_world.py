"""A small farm to plan, varied by `replace`: two brooders, a pen, a paddock; days and ages are round numbers.

A bird asks for 100 dm² with 10 others: 10 dm² from day 0, 20 from day 28; heat until day 28.
"""

from dataclasses import replace
from datetime import date, timedelta

from farm.planning import plan_check, score
from farm.planning.problem import Arrival, Batch, Demand, Housing, Past, Pin, Problem, Stage
from farm.planning.solution import BatchPlan, PlanPart, PlanStay
from farm.planning.solve import solve

START = date(2031, 4, 12)  # a Saturday


def day(number):
    """Day `number` of the plan."""
    return START + timedelta(days=number)


def demand(young=100_000, grown=200_000, grown_at=28, heat_days=28, days=84, feeder=0, drinker=0):
    ages = range(days)
    return Demand(
        area_mm2=tuple(young if age < grown_at else grown for age in ages),
        feeder_um=(feeder,) * days,
        drinker_um=(drinker,) * days,
        heat=tuple(age < heat_days for age in ages),
    )


def stages(brooder_to=35, pen_from=28, pen_to=None):
    return (Stage(frozenset({"brooder"}), 0, brooder_to), Stage(frozenset({"pen"}), pen_from, pen_to))


def batch(key="reds", arrives=0, birds=10, **changes):
    """Ten chicks, brooded to day 28-35, then in a pen until day 70."""
    one = Batch(key, key, "chicken", birds, demand(), stages(), Arrival(day(arrives)), leave_age_days=70)
    return replace(one, **changes)


def brooder(key="brooder", **changes):
    return replace(Housing(key, key, "brooder", 100, heated=True), **changes)


def pen(key="pen", **changes):
    return replace(Housing(key, key, "pen", 200), **changes)


def farm(*batches, housings=None, **changes):
    """A problem of 26 weeks."""
    return replace(Problem(START, 182, tuple(housings or (brooder(), pen())), batches), **changes)


def pin(housing, start, end, batch="reds", part=""):
    return Pin(batch, housing, day(start), day(end), part)


def past(housing, start, end, part=""):
    return Past(housing, day(start), day(end), part)


def stay(housing, start, end):
    return PlanStay(housing, day(start), day(end))


def plan(*stays, batch="reds", arrives=0, birds=10):
    return BatchPlan(batch, day(arrives), (PlanPart("1", birds, stays),))


def where(solution, batch="reds", part=0):
    """The chain of a part as (housing, first day, last day), days as numbers."""
    stays = solution.by_batch[batch].parts[part].stays
    return [(stay.housing, (stay.start - START).days, (stay.end - START).days) for stay in stays]


def terms(problem, *plans):
    """What a bill counts, without what did not happen."""
    return {name: count for name, count in score.bill(problem, plans).terms.items() if count}


def solved(problem, iterations=60, **options):
    """A solution that the judge finds no fault with."""
    found = solve(problem, iterations=iterations, **options)
    assert [fault for fault in plan_check.faults(problem, found) if not fault.forced] == []
    return found


def bill(problem, solution):
    return {name: count for name, count in score.bill(problem, solution.plans).terms.items() if count}
