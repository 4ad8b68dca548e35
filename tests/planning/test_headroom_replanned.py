"""The largest batch that fits once others are planned anew: a promise with its plan."""

from farm.planning import headroom, plan_check, score
from tests.planning.plan_world import batch, brooder, day, farm, pen, pin, plan, solved, stay, where

KIND = batch("new")
ROOMS = (brooder("large", area_dm2=100), brooder("small", area_dm2=40), pen(area_dm2=900))


def misplanned(**changes):
    """Four birds take the large brooder though the small one would do."""
    problem = farm(batch(birds=4), housings=ROOMS, **changes)
    held = plan(stay("large", 0, 28), stay("pen", 28, 70), birds=4)
    solution = solved(problem, 0)
    return problem, type(solution)(problem.digest, (held,), score.bill(problem, (held,)).total, 0)


def test_moving_a_small_batch_out_of_the_large_brooder_makes_room():
    problem, solution = misplanned()
    assert headroom.fixed(problem, solution, [KIND], day(0), 1).birds[0, 0] == 6
    kept = headroom.replanned(problem, solution, KIND, day(0))
    assert (kept.birds, kept.best) == (10, True)
    assert where(kept.solution, "reds")[0][0] == "small"


def test_the_promise_comes_with_a_sound_plan_that_lacks_nothing():
    kept = headroom.replanned(*misplanned(), KIND, day(0))
    assert kept.solution.problem == kept.problem.digest
    assert score.bill(kept.problem, kept.solution.plans).shortfall == 0
    assert plan_check.faults(kept.problem, kept.solution) == ()
    assert sum(part.birds for part in kept.solution.by_batch["new"].parts) == kept.birds


def test_pinned_stays_do_not_move():
    problem, solution = misplanned(pins=(pin("large", 0, 28),))
    kept = headroom.replanned(problem, solution, KIND, day(0))
    assert kept.birds == 6
    assert where(kept.solution, "reds")[0] == ("large", 0, 28)


def test_where_no_housing_suits_there_is_no_plan():
    problem, solution = misplanned()
    kept = headroom.replanned(
        problem, solution, batch("new", forbidden=frozenset({"large", "small"})), day(0)
    )
    assert (kept.birds, kept.best, kept.solution) == (0, True, None)


def test_it_is_never_less_than_what_fits_without_moving_anybody():
    problem, solution = misplanned()
    fixed = headroom.fixed(problem, solution, [KIND], day(0), 60).birds[0]
    for number in (10, 28, 59):
        assert headroom.replanned(problem, solution, KIND, day(number), repairs=20).birds >= fixed[number]


def test_cells_come_one_by_one_with_progress_until_the_caller_has_enough():
    problem, solution = misplanned()
    cells = [(KIND, day(number)) for number in (0, 7, 40)]
    told = []

    def report(done, of):
        told.append((done, of))
        return done < 2

    found = list(headroom.refined(problem, solution, cells, report))
    assert [kept.arrival for kept in found] == [day(0), day(7)]
    assert told == [(0, 3), (1, 3), (2, 3)]


def test_all_cells_done_are_reported_as_done():
    problem, solution = misplanned()
    told = []
    list(
        headroom.refined(
            problem, solution, [(KIND, day(0))], lambda done, of: told.append((done, of)) or True
        )
    )
    assert told == [(0, 1), (1, 1)]
