"""Who may get what: the day of a hand-over, and which batches are seen as females and males."""

import pytest
from hypothesis import given

from farm.planning.allotments import Hold, allot
from farm.planning.allotments.pool import hand_over_day, pool
from tests.planning.allotment_world import NO_LOSSES, TODAY, day, farms, line, supply, surely


@pytest.mark.parametrize(
    "stock, wanted, expected",
    [
        (supply(), line(), 0),
        (supply(), line(days=(5, 9)), 5),
        (supply(), line(ages=(7, 9), days=(5, 9)), 7),
        (supply(), line(ages=(9, 9), days=(5, 9)), 9),
        (supply(), line(ages=(10, 12), days=(5, 9)), None),
        (supply(), line(ages=(0, 4), days=(5, 9)), None),
        (supply(), line(ages=(0, 5), days=(5, 9)), 5),
        (supply(hatched=-30), line(ages=(0, 29)), None),
        (supply(hatched=-30), line(ages=(30, 30)), 0),
        (supply(hatched=6), line(), 6),
        (supply(from_on=day(8)), line(), 8),
        (supply(known_on=day(8)), line(), 8),
        (supply(until=day(5)), line(days=(5, 9)), None),
        (supply(until=day(6)), line(days=(5, 9)), 5),
        (supply(), line(days=(-9, -1)), None),
        (supply(), line(days=(-9, 3)), 0),
        (supply(), line(type="white"), None),
        (supply(breed="Brahma"), line(), 0),
        (supply(breed="Brahma"), line(breed="brahma"), 0),
        (supply(breed="Sussex"), line(breed="Brahma"), None),
        (supply(), line(breed="Brahma"), None),
        (supply(female_share=0), line(sex="female"), None),
        (supply(female_share=1), line(sex="male"), None),
        (supply(female_share=0.9), line(sex="male"), 0),
    ],
)
def test_the_first_day_on_which_age_dates_and_sex_all_fit_is_the_day_of_the_hand_over(
    stock, wanted, expected
):
    assert hand_over_day(stock, wanted, TODAY) == (None if expected is None else day(expected))


@given(farms())
def test_no_day_before_the_hand_over_day_would_have_done_and_that_day_does(farm):
    for stock in farm[0]:
        for wanted in farm[1]:
            fits = [
                number
                for number in range(61)
                if stock.type == wanted.type
                and wanted.from_on <= day(number) <= wanted.to_on
                and stock.from_on <= day(number)
                and (stock.until is None or day(number) < stock.until)
                and wanted.age_from_days <= (day(number) - stock.hatch_day).days <= wanted.age_to_days
                and {"any": True, "female": stock.female_share > 0, "male": stock.female_share < 1}[
                    wanted.sex
                ]
            ]
            assert hand_over_day(stock, wanted, TODAY) == (day(fits[0]) if fits else None)


def parts(stock, *wanted):
    return [(part.sex, part.held) for part in pool([stock], wanted, TODAY).parts]


def test_a_batch_is_seen_whole_until_somebody_asks_for_a_sex():
    assert parts(supply(), line()) == [("any", 0)]
    assert parts(supply(), line(sex="female", type="white")) == [("any", 0)]
    assert parts(supply(), line(sex="female")) == [("female", 0), ("male", 0)]
    assert parts(supply(holds=(Hold(2, "male"),)), line()) == [("female", 0), ("male", 2)]


def test_a_sexed_batch_has_one_part():
    assert parts(supply(female_share=1), line(sex="female")) == [("female", 0)]
    assert parts(supply(female_share=0), line(sex="male")) == [("male", 0)]


def test_a_hold_on_any_birds_falls_first_on_the_sex_nobody_asks_for():
    held = supply(birds=10, holds=(Hold(3),))
    assert parts(held, line(sex="female")) == [("female", 0), ("male", 3)]
    assert parts(held, line(sex="male")) == [("female", 3), ("male", 0)]


def test_what_a_hold_cannot_find_in_one_sex_it_takes_from_the_other():
    held = supply(birds=10, holds=(Hold(7), Hold(1, "male")))
    assert parts(held, line(sex="female")) == [("female", 3), ("male", 5)]


def test_live_birds_come_before_those_expected_and_fitting_ages_before_others():
    stock = [supply("a", hatched=4), supply("b", hatched=-20), supply("c", hatched=-10)]
    question = pool(stock, [line(ages=(0, 20), days=(0, 30))], TODAY)
    assert [question.parts[pair.part].supply.key for pair in question.pairs] == ["c", "b", "a"]


@pytest.mark.parametrize("stock, wanted", [([supply(), supply()], []), ([], [line(), line()])])
def test_two_of_one_key_are_refused(stock, wanted):
    with pytest.raises(ValueError, match="a key of its own"):
        allot(stock, wanted, TODAY)


@pytest.mark.parametrize(
    "make",
    [
        lambda: supply(law=(0.5, 0.4)),
        lambda: supply(law=()),
        lambda: supply(law=(1.5, -0.5)),
        lambda: supply(female_share=1.1),
        lambda: Hold(-1),
        lambda: line(birds=-1),
        lambda: allot([], [], TODAY, confidence=1.5),
    ],
)
def test_what_makes_no_sense_is_refused(make):
    with pytest.raises(ValueError):
        make()


def test_of_nothing_comes_nothing():
    empty = allot([], [], TODAY)
    assert (empty.shares, dict(empty.lines), dict(empty.spare)) == ((), {}, {})


def test_an_empty_batch_serves_nobody():
    stock = supply(law=surely(0), programme=NO_LOSSES)
    found = allot([stock], [line(birds=2)], TODAY)
    assert (found.lines["1"].allotted, found.lines["1"].chance, found.spare["a"].sure) == (0, 0.0, 0)
