import time
from hypothesis import given, settings, HealthCheck, Phase
from farm.planning import exact, plan_check, score
from farm.planning.solve import solve
from tests.planning.plan_strategies import problems

stats={}
@settings(max_examples=60, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(problems(most_batches=4, most_housings=4, days=70))
def test_fuzz(problem):
    try: s = solve(problem, iterations=100)
    except KeyError: print("ENGINE KEYERROR"); return
    t=time.time()
    p = exact.prove(problem, seconds=20)
    stats[p.status]=stats.get(p.status,0)+1
    print(round(time.time()-t,2), p.status, p.bound, s.cost, p.solution and p.solution.cost, p.whole)
    if p.solution:
        assert [f for f in plan_check.faults(problem, p.solution) if not f.forced]==[]
    if p.whole:
        assert p.bound<=s.cost,(p,s.cost)
    unsplit=all(len(pl.parts)<=1 or next(b for b in problem.batches if b.key==pl.batch).parts for pl in s.plans)
    if unsplit: assert p.bound<=s.cost
    w = exact.prove(problem, warm=s, seconds=20)
    assert w.bound<=s.cost
    assert w.solution.cost<=s.cost
    print('  warm', w.status,w.bound,w.solution.cost)
