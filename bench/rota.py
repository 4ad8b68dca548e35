"""Four weeks of 30 chores a day for eight people, beside taking turns, and how near to the best it is proved."""

from __future__ import annotations

from collections.abc import Sequence
from time import perf_counter

from bench.rota_farm import farm, in_turn
from bench.timing import seconds
from farm.planning.exact.rota import polish
from farm.planning.rota import Assigned, Bill, RotaAnswer, RotaProblem, check, score, solve

GOAL_SECONDS, GOAL_GAP = 1.0, 0.02
#: Polishing gets so many seconds, and so many more if the gap is not small enough then.
LIMITS = 20.0, 60.0


def measure() -> bool:
    """Print times, the gap, and unfairness and extra people of both; return whether the goals are reached."""
    problem = farm()
    found: list[RotaAnswer] = []
    took = seconds(lambda: found.append(solve(problem)))
    quick, plain = found[0], in_turn(problem)
    best, spent = polished(problem, quick, LIMITS)
    days = len({job.day for job in problem.jobs})
    print(f"  {len(problem.people)} people, {days} days, {len(problem.jobs)} chores")
    print(f"  first rota in {took:5.2f} s (goal {GOAL_SECONDS:.0f} s)")
    word = "proved the best" if best.proved else f"gap {100 * best.gap:.1f} % (goal {100 * GOAL_GAP:.0f} %)"
    print(f"  polished in {spent:5.1f} s (limit {sum(LIMITS):.0f} s): {word}")
    print("                 unfair by   extra people   changes of hands      cost")
    rotas = {"taking turns": plain, "first rota": quick.assigned, "polished": best.assigned}
    bills = {name: told(problem, name, rota) for name, rota in rotas.items()}
    sound = not any(check(problem, rota) for rota in rotas.values())
    print(f"  hard rules     {'kept by all' if sound else 'BROKEN'}")
    better = bills["polished"].cost <= bills["first rota"].cost < bills["taking turns"].cost
    return sound and better and took <= GOAL_SECONDS and best.gap <= GOAL_GAP


def told(problem: RotaProblem, name: str, rota: Assigned) -> Bill:
    """Print a rota's line of the table and return its bill."""
    bill = score(problem, rota)
    print(
        f"  {name:<13} {bill.deviation:7.1f} min   {bill.blocks:12}   {bill.changes:16}   {bill.cost:7.0f}"
        + (f"   {bill.unfilled} seats empty" if bill.unfilled else "")
    )
    return bill


def polished(problem: RotaProblem, answer: RotaAnswer, limits: Sequence[float]) -> tuple[RotaAnswer, float]:
    """Polish for these seconds, one after the other, until the gap is small enough; return also the seconds it took."""
    start = perf_counter()
    for limit in limits:
        if answer.gap > GOAL_GAP:
            answer = polish(problem, answer, limit)
    return answer, perf_counter() - start
