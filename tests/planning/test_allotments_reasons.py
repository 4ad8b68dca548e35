"""Why a line is short, in the words a keeper reads."""

import pytest

from farm.planning.allotments import Hold, allot
from farm.planning.allotments.reasons import age
from tests.planning.allotment_world import HEAVY, TODAY, day, line, supply


def why(stock, wanted, *others):
    reason = allot(stock, [wanted, *others], TODAY).lines[wanted.key].reason
    return None if reason is None else str(reason)


HERE = supply("a", 10, hatched=-10)


@pytest.mark.parametrize(
    "stock, wanted, said",
    [
        ([HERE], line(birds=10), None),
        ([HERE], line(birds=0, type="white"), None),
        ([HERE], line(days=(-9, -1)), "The last day, 31 May, has passed."),
        ([HERE], line(days=(5, 2)), "The last day, 3 June, is before the first."),
        ([HERE], line(ages=(21, 14)), "No bird is at least 3 weeks and at most 2 weeks old."),
        ([], line(), "There are no birds of this type, and none are expected."),
        ([HERE], line(type="white"), "There are no birds of this type, and none are expected."),
        ([HERE], line(breed="Brahma"), "No batch of this type is of the breed asked for."),
        ([supply(female_share=0)], line(sex="female"), "No batch of this type has females."),
        ([supply(female_share=1)], line(sex="male"), "No batch of this type has males."),
        (
            [HERE],
            line(ages=(56, 70), days=(0, 7)),
            "No birds of this type reach 8 weeks between 1 June and 8 June.",
        ),
        (
            [HERE],
            line(ages=(0, 1), days=(-3, 7)),
            "All birds of this type are older than 1 day between 1 June and 8 June.",
        ),
        (
            [HERE],
            line(ages=(0, 9), days=(0, 7)),
            "All birds of this type are older than 9 days between 1 June and 8 June.",
        ),
        (
            [HERE, supply("b", hatched=-60)],
            line(ages=(30, 40), days=(0, 7)),
            "No birds of this type are of the right age between 1 June and 8 June.",
        ),
        (
            [supply(from_on=day(20))],
            line(days=(0, 7)),
            "No birds of this type may be given between 1 June and 8 June.",
        ),
        (
            [supply(until=day(3))],
            line(ages=(5, 9), days=(0, 7)),
            "No birds of this type may be given between 1 June and 8 June.",
        ),
        ([supply(birds=10, holds=(Hold(1),))], line(birds=10), "1 bird is held back."),
        ([supply(birds=20, holds=(Hold(12),))], line(birds=10), "12 birds are held back."),
        ([supply(birds=5, holds=(Hold(12),))], line(birds=10), "5 birds are held back."),
        ([supply(birds=9)], line(birds=10), "Only 9 birds are expected in the batches that would do."),
        ([supply(birds=1)], line(birds=2), "Only 1 bird is expected in the batches that would do."),
        (
            [supply(birds=10, programme=HEAVY)],
            line(birds=10, days=(10, 10)),
            "Only 8 birds are expected in the batches that would do.",
        ),
    ],
)  # fmt: skip
def test_a_short_line_is_told_what_stands_in_its_way(stock, wanted, said):
    assert why(stock, wanted) == said


def test_a_line_is_told_of_those_before_it_and_not_of_those_after():
    mine = line("mine", 9, priority=2)
    assert why([HERE], mine, line("first", 9)) == "Other orders come first: 9 birds are meant for them."
    assert why([HERE], mine, line("first", 2)) == "Other orders come first: 2 birds are meant for them."
    assert why([supply(birds=8)], mine, line("last", 9, priority=3)) == (
        "Only 8 birds are expected in the batches that would do."
    )


def test_the_greater_of_holds_and_other_orders_is_named():
    stock = [supply(birds=10, holds=(Hold(4),))]
    assert why(stock, line("mine", 9, priority=2), line("first", 2)) == "4 birds are held back."
    assert "5 birds are meant" in why(stock, line("mine", 9, priority=2), line("first", 5))


@pytest.mark.parametrize(
    "days, said", [(0, "0 days"), (1, "1 day"), (7, "1 week"), (10, "10 days"), (56, "8 weeks")]
)
def test_ages_are_said_in_whole_weeks_or_in_days(days, said):
    assert str(age(days)) == said
