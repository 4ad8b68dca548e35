"""The best plan of a tiny farm by trying every one: no cleverness, so that there is something to believe."""

from dataclasses import replace
from itertools import product

from farm.planning import plan_check, score
from farm.planning.solution import BatchPlan, PlanPart, PlanStay, Solution


def chains(problem, batch, arrival, points):
    """Every chain of stays of a whole batch that changes only on `points`, days within its life."""
    cuts = sorted({arrival, *points})
    ends = [
        *cuts[1:],
        arrival.fromordinal(arrival.toordinal() + batch.leave_age_days - batch.age_at_arrival_days),
    ]
    homes = [*(housing.key for housing in problem.housings), None]
    for chosen in product(homes, repeat=len(cuts)):
        stays = []
        for home, start, end in zip(chosen, cuts, ends, strict=True):
            if stays and stays[-1].housing == home:
                start = stays.pop().start
            stays.append(PlanStay(home, start, end))
        yield BatchPlan(batch.key, arrival, (PlanPart("1", batch.birds, tuple(stays)),))


def keeps_to_itself(problem, plan):
    """Whether nothing about this plan is wrong before anyone else is looked at."""
    mine = replace(
        problem,
        batches=tuple(one for one in problem.batches if one.key == plan.batch),
        pins=tuple(pin for pin in problem.pins if pin.batch == plan.batch),
    )
    return sound(mine, (plan,))


def sound(problem, plans):
    found = plan_check.faults(problem, Solution(problem.digest, tuple(plans), 0, 0))
    return not any(not fault.forced for fault in found)


def cheaper(problem, choices, cost):
    """A sound combination of plans that costs less than `cost`, or None; choices: plans of each batch.

    Company never makes a batch cheaper (nearly full days must be free for that): so what is too dear alone is skipped.
    """
    assert problem.weights.spare == 0
    priced = [
        sorted(
            (score.bill(problem, (plan,)).total, at)
            for at, plan in enumerate(each)
            if keeps_to_itself(problem, plan)
        )
        for each in choices
    ]
    idle = score.bill(problem, ()).total
    least = [each[0][0] - idle for each in priced]
    for combination in product(
        *(
            [pair for pair in each if pair[0] - idle + sum(least) - low < cost]
            for each, low in zip(priced, least, strict=True)
        )
    ):
        if sum(alone - idle for alone, _ in combination) + idle < cost:
            plans = tuple(choices[batch][at] for batch, (_, at) in enumerate(combination))
            if score.bill(problem, plans).total < cost and sound(problem, plans):
                return plans
    return None
