"""Every shortfall of a plan in a sentence, priced as the bill prices it."""

from dataclasses import replace

from hypothesis import HealthCheck, Phase, given, settings

from farm.planning import score, seating
from farm.planning.problem import Capacity
from farm.planning.shortfalls import inside, shortfalls
from farm.planning.solve import solve
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, brooder, day, farm, pen, plan, stay


def said(problem, *plans):
    return [str(each.sentence) for each in shortfalls(problem, plans)]


def test_a_plan_that_lacks_nothing_has_no_shortfall():
    assert said(farm(batch()), plan(stay("brooder", 0, 28), stay("pen", 28, 70))) == []


def test_a_housing_too_small_is_named_with_its_day_cause_and_birds():
    problem = farm(batch(), housings=(brooder(), pen(area_dm2=180)))
    assert said(problem, plan(stay("brooder", 0, 28), stay("pen", 28, 70))) == [
        "pen is 0.2 m² short on 10 May, when the reds move in: 1 bird too many"
    ]


def test_floor_lost_for_a_while_is_missed_on_those_days_only():
    rooms = (brooder(changes=(Capacity(day(5), 60), Capacity(day(8), 100))), pen())
    (found,) = shortfalls(farm(batch(), housings=rooms), [plan(stay("brooder", 0, 28), stay("pen", 28, 70))])
    assert (found.breach.start, found.breach.end, found.breach.short, found.breach.birds) == (
        day(5),
        day(8),
        0.4,
        4,
    )


def test_feeder_edge_too_short_is_told_in_centimetres():
    fed = batch(demand=replace(batch().demand, feeder_um=(25_000,) * 84))
    problem = farm(fed, housings=(brooder(feeder_mm=200), pen()))
    assert said(problem, plan(stay("brooder", 0, 28), stay("pen", 28, 70))) == [
        "brooder is 5.0 cm of feeder short on 12 April, when the reds move in: 2 birds too many"
    ]


def test_birds_in_the_cold_are_told_with_the_days():
    problem = farm(batch(), housings=(brooder(heated=False), pen()))
    assert said(problem, plan(stay("brooder", 0, 28), stay("pen", 28, 70))) == [
        "brooder has no heat, but the reds in it need heat from 12 April to 9 May: 10 birds in the cold"
    ]


def test_birds_nowhere_are_told_with_what_keeps_each_housing_of_their_kind_closed():
    rooms = (
        brooder(one_batch=True),
        brooder("small", area_dm2=40),
        brooder("shut", in_service_from=day(90)),
        brooder("kept", species=frozenset({"duck"})),
        brooder("unlit", heated=False),
        brooder("empty"),
        pen(),
    )
    problem = farm(batch(), batch("blues"), housings=rooms)
    plans = [
        plan(stay("brooder", 0, 28), stay("pen", 28, 70)),
        plan(stay(None, 0, 28), stay("pen", 28, 70), batch="blues"),
    ]
    first, *_ = shortfalls(problem, plans)
    assert str(first.sentence) == "10 of the blues have no housing from 12 April to 9 May and ask for 1.0 m²"
    assert [str(reason) for reason in first.why] == [
        "brooder is for one batch at a time and holds reds",
        "empty is empty that day",
        "kept is ruled out for them: species, season or your own word",
        "shut is not in use that day",
        "small has 0.40 m² free of the 1.00 m² they need",
        "unlit has no heat",
    ]


def reasons(arrives):
    """Why blues, here for 20 days, are nowhere: reds leave the brooder on day 28, it rests 9, greens come on day 62."""
    rooms = (brooder(one_batch=True, rest_days=9), pen(area_dm2=900))
    blues = batch("blues", arrives=arrives, leave_age_days=20)
    plans = [
        plan(stay("brooder", 0, 28), stay("pen", 28, 70)),
        plan(stay(None, arrives, arrives + 20), batch="blues", arrives=arrives),
        plan(stay("brooder", 62, 90), stay("pen", 90, 132), batch="greens", arrives=62),
    ]
    (found,) = shortfalls(farm(batch(), blues, batch("greens", arrives=62), housings=rooms), plans)
    return [str(reason) for reason in found.why]


def test_a_housing_that_rests_says_until_when_and_after_whom():
    assert reasons(30) == ["brooder rests until 19 May after reds"]


def test_a_housing_promised_to_others_says_to_whom_and_when():
    assert reasons(50) == ["brooder is empty that day, but greens come on 13 June"]


def test_room_among_others_that_may_not_be_shared_is_told_as_such():
    rooms = (brooder(area_dm2=900, max_age_gap_days=0), pen())
    problem = farm(batch(), batch("blues", arrives=7), housings=rooms)
    plans = [
        plan(stay("brooder", 0, 28), stay("pen", 28, 70)),
        plan(stay(None, 7, 77), batch="blues", arrives=7),
    ]
    found = shortfalls(problem, plans)
    unhoused = next(each for each in found if each.breach.kind == "unhoused")
    assert "pen has 0.00 m² free of the 2.00 m² they need" in [str(reason) for reason in unhoused.why]


def test_the_batch_that_asks_for_most_is_named_first():
    problem = farm(batch(birds=3), batch("blues"), housings=(brooder(), pen(area_dm2=900)))
    plans = [
        plan(stay("brooder", 0, 28), stay("pen", 28, 70), birds=3),
        plan(stay("brooder", 0, 28), stay("pen", 28, 70), batch="blues"),
    ]
    (found,) = shortfalls(problem, plans)
    assert found.breach.groups == ("blues", "reds")
    assert inside(problem, plans, "brooder", day(3)) == {"blues": 100, "reds": 30}


def test_what_is_proved_unavoidable_is_told_apart_from_what_was_only_not_found():
    problem = farm(batch(), batch("blues"), housings=(brooder(), brooder("spare"), pen(area_dm2=400)))
    crowded = [
        plan(stay("brooder", 0, 28), stay("pen", 28, 70)),
        plan(stay("brooder", 0, 28), stay("pen", 28, 70), batch="blues"),
    ]
    (found,) = shortfalls(problem, crowded)
    nothing = {found.breach.worst: seating.seat(problem, found.breach.worst)}
    assert str(found.verdict(nothing)) == "We found nothing better; that nothing is better is not proved"
    full = replace(problem, housings=(brooder(), pen(area_dm2=400)))
    proved = {found.breach.worst: seating.seat(full, found.breach.worst)}
    assert (
        str(found.verdict(proved)) == "Unavoidable: on 12 April every plan lacks at least 1.00 m² on the farm"
    )


@settings(
    max_examples=8,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
@given(problems(most_batches=4, most_housings=4, days=84))
def test_the_prices_of_all_shortfalls_add_up_to_what_the_bill_counts(problem):
    plans = solve(problem, iterations=5).plans
    found = shortfalls(problem, plans)
    assert sum(each.price for each in found) == score.bill(problem, plans).shortfall
    assert all(each.breach.birds > 0 and str(each.sentence) for each in found)
