"""A pin inside a stay is no new beginning: only a stay that begins or ends with a pin may be shorter than the least."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning import exact, plan_check, score
from farm.planning.problem import Arrival, PartSize
from farm.planning.solve import solve
from tests.planning.plan_world import batch, brooder, day, farm, past, pen, pin, plan, solved, stay, where

EVERY_DAY = frozenset()


def ousted(least, *pins, **changes):
    """Birds that lose their brooder on day 34 and gain a pen on day 40: until then only the small middle is left."""
    rooms = (brooder(in_service_to=day(34)), pen(in_service_from=day(40)), pen("middle", area_dm2=50))
    return farm(batch(min_stay_days=least, **changes), housings=rooms, pins=pins, move_weekdays=EVERY_DAY)


def lengths(solution):
    """The days of each stay in the middle."""
    return [end - start for housing, start, end in where(solution) if housing == "middle"]


def unforced(problem, solution):
    return [fault for fault in plan_check.faults(problem, solution) if not fault.forced]


@pytest.mark.parametrize("least, days", [(6, 6), (7, 7), (9, 9)])
def test_a_pinned_day_inside_a_stay_does_not_begin_it_anew(least, days):
    # Six days in the middle would be cheapest.
    assert lengths(solved(ousted(least, pin("middle", 37, 38)))) == [days]


@pytest.mark.parametrize("least, days", [(6, 6), (7, 7), (9, 9)])
def test_the_exact_model_counts_the_days_of_a_stay_around_a_pin_in_the_same_way(least, days):
    problem = ousted(least, pin("middle", 37, 38))
    proof = exact.prove(problem)
    assert (proof.status, lengths(proof.solution)) == ("proved", [days])
    assert proof.solution.cost == solved(problem).cost


@pytest.mark.parametrize("pinned, stays", [((34, 35), (34, 40)), ((39, 40), (34, 40)), ((34, 40), (34, 40))])
def test_a_stay_that_begins_or_ends_with_a_pin_may_be_short(pinned, stays):
    problem = ousted(14, pin("middle", *pinned))
    assert ("middle", *stays) in where(solved(problem))
    assert ("middle", *stays) in where(exact.prove(problem).solution)


def test_a_pin_cut_off_as_the_birds_leave_ends_no_stay():
    # Pinned in the second pen from day 66 on, they leave on day 70: they may come then, or 14 days before they leave.
    rooms = (brooder(), pen(in_service_to=day(60)), pen("second", area_dm2=50))
    problem = farm(
        batch(min_stay_days=14), housings=rooms, pins=(pin("second", 66, 90),), move_weekdays=EVERY_DAY
    )
    found = solved(problem)
    assert where(found)[-1] == ("second", 56, 70)
    assert exact.prove(problem).solution.cost == found.cost


def test_a_pin_to_the_day_the_birds_leave_ends_their_stay():
    rooms = (brooder(), pen(in_service_to=day(60)), pen("second", area_dm2=50))
    problem = farm(
        batch(min_stay_days=14), housings=rooms, pins=(pin("second", 66, 70),), move_weekdays=EVERY_DAY
    )
    found = solved(problem)
    assert where(found)[-1] == ("second", 60, 70)
    assert exact.prove(problem).solution.cost == found.cost


def test_a_pin_shorter_than_the_least_with_nothing_before_or_after_it_is_kept():
    rooms = (brooder(in_service_to=day(1)), pen(in_service_from=day(90)), pen("second"))
    short = farm(
        batch(min_stay_days=14, forbidden=frozenset({"second"})),
        housings=rooms,
        pins=(pin("second", 40, 41),),
    )
    assert ("second", 40, 41) in where(solved(short))
    assert ("second", 40, 41) in where(exact.prove(short).solution)


def test_a_short_stay_of_the_adopted_plan_is_not_carried_on():
    adopted = plan(stay("brooder", 0, 34), stay("middle", 34, 40), stay("pen", 40, 70))
    problem = replace(ousted(7), adopted=(adopted,))
    assert lengths(solved(problem, iterations=0)) == [7]
    pinned = replace(problem, pins=(pin("middle", 34, 36),))
    assert solved(pinned, iterations=0).plans == (adopted,)


@st.composite
def pinned_farms(draw):
    """One or two batches of ten weeks on a farm that closes and opens housings, with up to three short pins."""
    opened = st.sampled_from((None, None, day(20), day(37), day(45)))
    rooms = [
        brooder(
            "brooder",
            area_dm2=draw(st.sampled_from((50, 100, 200))),
            in_service_to=draw(st.sampled_from((None, day(12), day(30), day(34)))),
        )
    ]
    for name in ("one", "two", "three")[: draw(st.integers(1, 3))]:
        rooms.append(
            pen(
                name,
                area_dm2=draw(st.sampled_from((20, 100, 200, 400))),
                heated=draw(st.booleans()),
                one_batch=draw(st.booleans()),
                rest_days=draw(st.sampled_from((0, 3))),
                in_service_from=draw(opened),
                in_service_to=draw(st.sampled_from((None, None, day(46), day(52)))),
            )
        )
    names = [room.key for room in rooms]
    batches = []
    for key in ("reds", "blues")[: draw(st.integers(1, 2))]:
        here = draw(st.sampled_from((0, 0, 7)))
        arrives = -here if here else draw(st.integers(0, 20))
        birds = draw(st.integers(3, 20))
        batches.append(
            batch(
                key,
                arrival=Arrival(day(arrives)),
                birds=birds,
                parts=draw(st.sampled_from(((), (PartSize("1", 2), PartSize("2", birds - 2))))),
                history=(past(draw(st.sampled_from(names)), -here, draw(st.integers(0, 3))),) if here else (),
                min_stay_days=draw(st.integers(0, 14)) or 1,
                max_parts=draw(st.integers(1, 2)),
                leave_age_days=draw(st.sampled_from((40, 56, 70, None))),
            )
        )
    pins = []
    for _ in range(draw(st.integers(1, 3))):
        start, chosen = draw(st.integers(0, 70)), draw(st.sampled_from(batches))
        pins.append(
            pin(
                draw(st.sampled_from(names)),
                start,
                start + draw(st.integers(1, 10)),
                chosen.key,
                draw(st.sampled_from(("", *(part.key for part in chosen.parts)))),
            )
        )
    return farm(
        *batches,
        housings=rooms,
        pins=pins,
        days=90,
        move_weekdays=draw(st.sampled_from((EVERY_DAY, frozenset({5}), frozenset({2, 5})))),
    )


@settings(max_examples=60)
@given(pinned_farms(), st.integers(0, 3))
def test_whatever_is_pinned_no_stay_is_short_that_need_not_be(problem, seed):
    found = solve(problem, seed=seed, iterations=15)
    assert unforced(problem, found) == []
    assert found.cost == score.bill(problem, found.plans).total
    # What held becomes a plan to start from once the keeper takes the pins out or asks for longer stays.
    longer = tuple(replace(each, min_stay_days=each.min_stay_days + 5) for each in problem.batches)
    for again in (replace(problem, pins=()), replace(problem, batches=longer)):
        again = replace(again, adopted=found.plans)
        assert unforced(again, solve(again, iterations=3)) == []


@settings(max_examples=12)
@given(pinned_farms())
def test_the_exact_model_and_the_search_agree_on_one_pinned_batch(problem):
    one = problem.batches[0]
    alone = replace(
        problem,
        batches=(replace(one, max_parts=1, parts=()),),
        pins=tuple(replace(each, part="") for each in problem.pins if each.batch == one.key),
    )
    proof, found = exact.prove(alone), solve(alone, iterations=1)
    assert unforced(alone, proof.solution) == []
    assert (proof.status, proof.solution.cost) == ("proved", found.cost)
