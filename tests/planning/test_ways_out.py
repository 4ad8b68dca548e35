"""Ways out of a shortfall: each shown to work by a plan that the judge finds sound."""

import json
from dataclasses import replace

from hypothesis import HealthCheck, Phase, given, settings

from farm.planning import changes, plan_check, score, ways_out
from farm.planning.problem import Arrival
from farm.planning.shortfalls import shortfalls
from farm.planning.solution import Solution
from farm.planning.solve import solve
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, brooder, day, demand, farm, past, pen, plan, solved, stages, stay


def asked(problem, iterations=40, **options):
    """The answer for the first shortfall of a plan of the problem."""
    solution = solved(problem, iterations)
    return ways_out.find(problem, solution, shortfalls(problem, solution.plans)[0], **options)


def of(answer, kind):
    """The changes of each way of a kind, and what the first says."""
    found = [way for way in answer.ways if way.kind == kind]
    return [way.changes for way in found], str(found[0].sentence) if found else ""


def crowded(**blues):
    """Ten reds from day 0; eight blues from day 7 find the only brooder, for one batch, taken until day 28."""
    rooms = (brooder(one_batch=True), pen(area_dm2=900))
    return farm(batch(), batch("blues", arrives=7, birds=8, **blues), housings=rooms)


def test_the_nearest_later_arrival_that_fits_is_found():
    found, sentence = of(asked(crowded()), "arrival")
    assert found == [(changes.MoveArrival("blues", day(28)),)]
    assert sentence == "blues come 21 days later, on 10 May"


def test_an_arrival_keeps_to_the_weekdays_the_keeper_allows():
    wednesdays = Arrival(day(4), day(4), day(5), frozenset({2}))
    found, _ = of(asked(crowded(arrival=wednesdays)), "arrival")
    assert found == [(changes.MoveArrival("blues", day(32)),)]


def test_an_earlier_arrival_is_found_too():
    rooms = (brooder(one_batch=True), pen(area_dm2=900))
    problem = farm(batch(arrives=28), batch("blues", arrives=24), housings=rooms)
    solution = solved(problem)
    (short,) = {each.breach.groups[0]: each for each in shortfalls(problem, solution.plans)}.values()
    found, sentence = of(ways_out.find(problem, solution, short), "arrival")
    who = short.breach.groups[0]
    assert (changes.MoveArrival(who, day(0)),) in found or (changes.MoveArrival(who, day(52)),) in found
    assert sentence.startswith(who)


def test_the_largest_number_that_fits_is_found():
    problem = farm(batch(birds=13), housings=(brooder(area_dm2=100), pen(area_dm2=900)))
    found, sentence = of(asked(problem), "fewer")
    assert (found, sentence) == ([(changes.ChangeBirds("reds", 10),)], "reds are 3 birds fewer: 10")


def test_what_the_keepers_own_plan_breaks_elsewhere_hides_no_way_out():
    blues = batch("blues", birds=1, demand=demand(heat_days=0))  # too young for the pen they are in
    problem = farm(batch(birds=13), blues, housings=(brooder(area_dm2=100), pen(area_dm2=900)))
    reds = plan(stay("brooder", 0, 28), stay("pen", 28, 70), birds=13)
    plans = (reds, plan(stay("pen", 0, 70), batch="blues", birds=1))
    solution = Solution(problem.digest, plans, score.bill(problem, plans).total, 0)
    assert {fault.batches for fault in plan_check.faults(problem, solution)} == {("blues",)}
    answer = ways_out.find(problem, solution, shortfalls(problem, plans)[0])
    assert of(answer, "fewer")[0] == [(changes.ChangeBirds("reds", 10),)]


def test_birds_that_are_here_cannot_be_fewer_or_come_later_in_a_plan():
    here = batch(arrives=-7, birds=13, history=(past("brooder", -7, 0),))
    answer = asked(farm(here, housings=(brooder(area_dm2=100), pen(area_dm2=900))))
    assert of(answer, "fewer")[0] == of(answer, "arrival")[0] == []
    assert {way.kind for way in answer.ways} == {"area", "borrow"}


def test_birds_due_on_the_first_day_are_here_when_the_adopted_plan_knows_them():
    rooms = (brooder(area_dm2=100), pen(area_dm2=900))
    known = plan(stay("brooder", 0, 28), stay("pen", 28, 70), birds=13)
    thought_of = farm(batch(birds=13), housings=rooms)
    kinds = [
        {way.kind for way in asked(problem).ways} & {"fewer", "arrival"}
        for problem in (thought_of, replace(thought_of, adopted=(known,)))
    ]
    assert kinds == [{"fewer"}, set()]


def test_the_arrival_of_birds_that_are_here_is_not_shifted_for_others():
    rooms = (brooder(one_batch=True), pen(area_dm2=900))
    quick = {"demand": demand(heat_days=14), "stages": stages(28, 14)}
    thought_of = farm(batch(**quick), batch("blues", arrives=1, birds=8, **quick), housings=rooms)
    known = plan(stay("brooder", 0, 14), stay("pen", 14, 70))
    shifted = [
        [change for changes in of(asked(problem), "others")[0] for change in changes]
        for problem in (thought_of, replace(thought_of, adopted=(known,)))
    ]
    assert [[change.batch for change in found] for found in shifted] == [["reds"], []]


def test_nothing_helps_is_not_said_while_fewer_of_the_birds_here_would_fit():
    # They stay for good and every other way is barred, but some could be sold.
    here = batch(
        arrives=-30, birds=13, leave_age_days=None, history=(past("pen", -30, 0),), stages=stages(1, 0)
    )
    problem = farm(here, housings=(pen(area_dm2=200),))
    answer = asked(problem)
    assert (answer.tried >= set(ways_out.KINDS) - {"fewer"}, answer.nothing_helps) == (True, False)


def test_more_floor_is_asked_for_where_and_when_it_lacks():
    problem = farm(batch(birds=13), housings=(brooder(area_dm2=100), pen(area_dm2=900)))
    found, sentence = of(asked(problem), "area")
    assert found == [(changes.ChangeArea("brooder", 130, day(0), day(28)),)]
    assert sentence == "brooder has 0.30 m² more from 12 April to 9 May"


def test_the_fewest_days_of_leaving_earlier_are_found():
    # The pen closes on day 63; the birds would stay to day 70.
    problem = farm(batch(), housings=(brooder(), pen(in_service_to=day(63))))
    found, sentence = of(asked(problem), "leave")
    assert (found, sentence) == ([(changes.LeaveEarly("reds", 7),)], "reds leave 7 days earlier, on 14 June")


def test_a_batch_is_split_over_two_brooders_where_neither_holds_all():
    rooms = (brooder(area_dm2=60), brooder("other", area_dm2=50), pen(area_dm2=900))
    found, sentence = of(asked(farm(batch(), housings=rooms)), "split")
    assert found == [(changes.AllowSplit("reds", 2),)]
    assert sentence == "reds are split: 6 and 4 birds"


def test_a_batch_is_split_in_three_where_two_do_not_do():
    rooms = (
        brooder(area_dm2=40),
        brooder("other", area_dm2=40),
        brooder("third", area_dm2=30),
        pen(area_dm2=900),
    )
    found, sentence = of(asked(farm(batch(), housings=rooms)), "split")
    assert found == [(changes.AllowSplit("reds", 3),)]
    assert sentence == "reds are split in three: 4, 4 and 2 birds"


def test_a_borrowed_housing_has_its_kind_size_heat_and_days():
    answer = asked(crowded())
    ((change,),) = of(answer, "borrow")[0]
    housing = change.housing
    assert (housing.kind, housing.heated, housing.area_dm2) == ("brooder", True, 80)
    assert (housing.in_service_from, housing.in_service_to) == (day(7), day(28))
    assert of(answer, "borrow")[1] == "Borrow a heated brooder of 0.80 m² from 19 April to 9 May for blues"


def test_the_fewest_rest_days_to_waive_are_found_and_come_with_a_caution():
    rooms = (brooder(one_batch=True, rest_days=14), pen(area_dm2=900))
    problem = farm(batch(), batch("blues", arrives=35), housings=rooms)
    answer = asked(problem)
    (way,) = [way for way in answer.ways if way.kind == "rest"]
    assert way.changes == (changes.WaiveRest("brooder", 7),)
    assert str(way.caution).startswith("Rest days break the chain of disease")
    assert str(way.caution).endswith(
        "follow your local code, the product label and your vet. (Common practice, no source)"
    )


def test_only_a_waived_rest_carries_a_caution():
    assert {way.kind for way in asked(crowded()).ways if way.caution is not None} == set()


def test_another_batch_is_moved_where_that_makes_room():
    # Blues are due on day 28, when reds still have half their time in the brooder: reds come two weeks earlier.
    rooms = (brooder(one_batch=True), pen(area_dm2=900))
    problem = farm(batch(arrives=14), batch("blues", arrives=28, birds=8), housings=rooms)
    found, sentence = of(asked(problem), "others")
    assert found == [(changes.MoveArrival("reds", day(0)),)]
    assert sentence == "reds come on 12 April instead of 26 April"


def test_planning_anew_is_a_way_where_the_plan_was_only_bad():
    problem = farm(batch(), housings=(brooder(), brooder("small", area_dm2=30), pen()))
    bad = solve(problem, iterations=0)
    worse = changes.PinStay("reds", "small", day(0), day(28)).apply(problem)
    pinned = solve(worse, iterations=20)
    solution = type(bad)(problem.digest, pinned.plans, score.bill(problem, pinned.plans).total, 0)
    answer = ways_out.find(problem, solution, shortfalls(problem, solution.plans)[0])
    assert () in of(answer, "others")[0]


def test_planning_anew_asks_nothing_beyond_the_bill_and_ranks_by_it_alone():
    problem = farm(
        batch(), housings=(brooder(area_dm2=200), brooder("small", area_dm2=30), pen(area_dm2=300))
    )
    bad = (plan(stay("small", 0, 28), stay("pen", 28, 70)),)
    solution = Solution(problem.digest, bad, score.bill(problem, bad).total, 0)
    answer = ways_out.find(problem, solution, shortfalls(problem, bad)[0])
    assert (answer.ways[0].changes, answer.ways[0].effort) == ((), 0)
    assert len(answer.ways) > 1


def test_nothing_helps_is_said_when_everything_was_tried():
    # Kept ducks only: no brooder can be borrowed that is not there in kind, and no pen takes chicks.
    problem = farm(
        batch(leave_age_days=None, history=(past("brooder", -1, 0),), arrives=-1),
        housings=(brooder(species=frozenset({"duck"})), pen(species=frozenset({"duck"}))),
    )
    solution = solved(problem)
    answers = [ways_out.find(problem, solution, each) for each in shortfalls(problem, solution.plans)]
    assert all(answer.tried == set(ways_out.KINDS) for answer in answers)
    assert all(answer.nothing_helps is (not answer.ways) for answer in answers)


def test_a_search_that_was_ended_early_never_says_nothing_helps():
    answer = asked(crowded(), report=lambda kind, way: False)
    assert answer.tried < set(ways_out.KINDS)
    assert not answer.nothing_helps


def test_every_kind_is_reported_as_it_is_done():
    told = []
    asked(crowded(), report=lambda kind, way: told.append(kind) or True)
    assert told == [*ways_out.KINDS, "others"]


def test_ways_that_leave_less_short_come_first_then_the_cheaper():
    ways = asked(crowded()).ways
    ranks = [(way.left, way.price) for way in ways]
    assert ranks == sorted(ranks)
    assert len(ways) >= 2


def test_the_first_way_is_one_of_all():
    problem = crowded()
    solution = solved(problem)
    (short,) = shortfalls(problem, solution.plans)[:1]
    first = ways_out.first(problem, solution, short)
    assert first.changes in [way.changes for way in ways_out.find(problem, solution, short).ways]


@settings(
    max_examples=5,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
@given(problems(most_batches=3, most_housings=4, days=56))
def test_every_way_out_of_any_farm_is_a_sound_plan_of_the_changed_problem_without_the_shortfall(problem):
    solution = solve(problem, iterations=20)
    for short in shortfalls(problem, solution.plans)[:1]:
        for way in ways_out.find(problem, solution, short, batches=1).ways:
            again = tuple(
                changes.from_json(json.loads(json.dumps(changes.to_json(each)))) for each in way.changes
            )
            assert changes.apply_all(problem, again).digest == way.problem.digest == way.solution.problem
            bill = score.bill(way.problem, way.solution.plans)
            assert (bill.total, bill.shortfall) == (way.solution.cost, way.left)
            assert way.difference == bill.total - score.bill(problem, solution.plans).total
            assert way.left <= score.bill(problem, solution.plans).shortfall - short.price
            assert [fault for fault in plan_check.faults(way.problem, way.solution) if not fault.forced] == []
