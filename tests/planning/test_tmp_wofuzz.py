from hypothesis import HealthCheck, Phase, given, settings
from farm.planning import plan_check, score, ways_out, changes, seating, exact
from farm.planning.shortfalls import shortfalls
from farm.planning.solve import solve
from tests.planning.plan_strategies import problems
@settings(max_examples=80, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(problems(most_batches=5, most_housings=5, days=84))
def test_ways(problem):
    solution = solve(problem, iterations=10)
    for short in shortfalls(problem, solution.plans)[:2]:
        str(short.sentence); [str(w) for w in short.why]
        a=ways_out.find(problem, solution, short, batches=2)
        for way in a.ways:
            str(way.sentence)
            assert changes.apply_all(problem, way.changes).digest == way.problem.digest
            bill = score.bill(way.problem, way.solution.plans)
            assert way.left <= score.bill(problem, solution.plans).shortfall - short.price
