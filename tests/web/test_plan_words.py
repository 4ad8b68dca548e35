"""What a plan is worth, what it costs and what it tries, in a keeper's words."""

from __future__ import annotations

from datetime import date

import pytest
from django.core import signing

from farm.models import Plan
from farm.phrase import Phrase, Quantity
from farm.planning import changes, score
from farm.planning.changes import Change
from farm.planning.problem import Arrival, Batch, Demand, Housing, Problem, Stage
from farm.planning.solution import BatchPlan, PlanPart, PlanStay, Solution
from farm.planning.ways import Way
from farm.web.plan import bill, sentences, trying, verdict

DAY, LATER = date(2026, 5, 1), date(2026, 6, 1)
PEN = Housing(key="1", name="Pen", kind="pen", area_dm2=400)
REDS = Batch(
    key="1",  # housings and batches count apart: the same number is no slip
    name="Reds",
    species="chicken",
    birds=20,
    demand=Demand((90_000,), (0,), (0,), (False,)),
    stages=(Stage(frozenset({"pen"}), 0),),
    arrival=Arrival(LATER),
)
PROBLEM = Problem(start=DAY, days=60, housings=(PEN,), batches=(REDS,))


def solution(cost: int, bound: int, iterations: int = 600) -> Solution:
    return Solution("", (), cost, bound, iterations=iterations)


@pytest.mark.parametrize(
    ("cost", "bound", "words"),
    [
        (5000, 5000, "No plan can do better."),
        (0, 0, "No plan can do better."),
        (10_000, 9_500, "Within 1 move of the best possible."),
        (10_000, 7_500, "Within 3 moves of the best possible."),
        (10_000, 7_499, "We found nothing better in 600 tries; that nothing is better is not proved."),
        (10_000, 0, "We found nothing better in 600 tries; that nothing is better is not proved."),
    ],
)
def test_the_verdict_says_what_is_proved_and_no_more(cost: int, bound: int, words: str):
    assert str(verdict.verdict(solution(cost, bound))) == words


def test_a_plan_that_was_only_checked_claims_nothing_more():
    assert str(verdict.verdict(solution(5000, 0, iterations=0))) == (
        "It was checked and works. Whether there is a better one was not looked for yet."
    )


def plan(before: dict[str, int], after: dict[str, int] | None) -> Plan:
    return Plan(before={"terms": before}, bill=None if after is None else {"terms": after})


def test_the_bill_lists_what_differs_the_gravest_first_in_the_units_of_a_barn():
    found = bill.lines(plan({"moves": 4, "room": 250, "mixing": 7}, {"moves": 6, "room": 0, "mixing": 7}))

    assert [(line.name, line.before, line.after, line.difference, line.more) for line in found] == [
        (
            "Floor short, summed over the days",
            Quantity(2.5, "m2"),
            Quantity(0.0, "m2", 0),
            Quantity(2.5, "m2"),
            False,
        ),
        ("Moves", 4, 6, 2, True),
    ]


def test_there_is_no_bill_before_there_is_a_plan():
    assert bill.lines(plan({"moves": 4}, None)) == []


def test_every_term_of_the_planner_has_its_line():
    assert set(bill.TERMS) == set(score.TERMS)


SAID: list[tuple[Change, str]] = [
    (changes.AddBatch(REDS), "Add 20 birds (Reds), arriving on 1 June"),
    (changes.DropBatch("1"), "Reds do not come"),
    (changes.MoveArrival("1", DAY), "Reds arrive on 1 May"),
    (changes.ChangeBirds("1", 7), "Reds are 7 birds"),
    (changes.LeaveEarly("1", 9), "Reds leave 9 days earlier"),
    (changes.AllowSplit("1", 2), "Reds may live in up to 2 parts"),
    (changes.ForbidHousing("1", "1"), "Reds stay out of Pen"),
    (changes.PinStay("1", "1", DAY, LATER), "Reds stay in Pen from 1 May to 31 May"),
    (changes.DropPins("1"), "Reds are not pinned"),
    (changes.AddHousing(PEN), "Add housing: Pen, 4.00 m²"),
    (changes.LoseHousing("1", DAY), "Pen is out of use from 1 May on"),
    (changes.LoseHousing("1", DAY, LATER), "Pen is out of use from 1 May to 31 May"),
    (changes.ChangeArea("1", 650), "Pen has 6.50 m² of floor"),
    (changes.ChangeArea("1", 650, DAY, LATER), "Pen has 6.50 m² of floor from 1 May to 31 May"),
    (changes.WaiveRest("1", 3), "Pen rests 3 days less after birds"),
]


@pytest.mark.parametrize(("change", "words"), SAID, ids=lambda each: type(each).__name__)
def test_a_change_is_said_with_its_names_and_days(change: Change, words: str):
    assert [str(each) for each in sentences.said([change], PROBLEM)] == [words]


def test_every_kind_of_change_can_be_said():
    assert {type(change) for change, _words in SAID} == set(changes.KINDS.values())


@pytest.mark.parametrize("change", [change for change, _words in SAID])
def test_sealed_changes_come_back_as_they_were(change: Change):
    assert trying.unsealed(5, trying.sealed(5, [change, change])) == ((change, change), None)


def test_a_sealed_plan_comes_back_as_it_was():
    known = Solution(PROBLEM.digest, (BatchPlan("1", LATER, (PlanPart("1", 20, ()),)),), 9, 3)

    assert trying.unsealed(5, trying.sealed(5, [], known)) == ((), known)


def test_a_seal_is_of_one_farm():
    with pytest.raises(signing.BadSignature):
        trying.unsealed(6, trying.sealed(5, [changes.DropPins("1")]))


def test_a_borrowed_housing_gets_a_key_and_a_name_that_adopting_can_record():
    borrowed = changes.AddHousing(Housing(key="borrowed", name="borrowed", kind="pen", area_dm2=300))
    made = borrowed.apply(PROBLEM)
    lodged = BatchPlan("1", LATER, (PlanPart("1", 20, (PlanStay("borrowed", LATER, date(2026, 7, 1)),)),))
    known = Solution(made.digest, (lodged,), 0, 0)
    way = Way("borrow", (borrowed,), Phrase(""), made, known, 0, 0, 0)

    (found,), plan = trying.kept(PROBLEM, way)

    assert isinstance(found, changes.AddHousing)
    assert (found.housing.key, found.housing.name, found.housing.area_dm2) == ("new::1", "Borrowed pen", 300)
    assert plan.problem == found.apply(PROBLEM).digest
    assert [stay.housing for stay in plan.plans[0].parts[0].stays] == ["new::1"]


def test_other_ways_keep_their_changes_and_their_plan():
    waived = changes.WaiveRest("1", 0)
    way = Way("rest", (waived,), Phrase(""), PROBLEM, solution(0, 0), 0, 0, 0)

    assert trying.kept(PROBLEM, way) == (way.changes, way.solution)
