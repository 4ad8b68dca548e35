"""Every way in which texts and plans mention a record by its number."""

from __future__ import annotations

import pytest

from farm.models import Housing
from farm.queries.archives import numbers, plan_numbers
from farm.services.archives import reserving
from tests.conftest import World

#: So that each noun shows: its numbers move by their own amount.
MOVED = {
    **{"batch": 100, "housing": 200, "machine": 300, "eggset": 400, "orderline": 500, "feed": 600},
    **{"ownchore": 700, "feedentry": 800, "rearingprogramme": 900, "stay": 1000, "countentry": 1100},
    **{"historyentry": 1200, "supplier": 1300, "member": 1400},
}


def moved(noun: str, old: int) -> int:
    return old and old + MOVED[noun]


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("batch:7/weigh/21", "batch:107/weigh/21"),
        ("batch:7/move/room:3", "batch:107/move/room:203"),
        ("batch:7/cloth_off/3/room:12", "batch:107/cloth_off/3/room:212"),
        ("room:3/clean_out", "room:203/clean_out"),
        ("machine:2/check_machine", "machine:302/check_machine"),
        ("eggs:5/candle/7", "eggs:405/candle/7"),
        ("line:9/hand_over", "line:509/hand_over"),
        ("own:4/own_chore", "own:704/own_chore"),
        ("own:4", "own:704"),
        ("feed:6/order_feed/31", "feed:606/order_feed/831"),
        ("feed:6/order_feed/0", "feed:606/order_feed/0"),
        ("feed:6/check_feed/8", "feed:606/check_feed/808"),
        ("room:3/set_light/7-2026-05-01", "room:203/set_light/107-2026-05-01"),
        ("alert:cold:7:3:2026-05-01", "alert:cold:107:203:2026-05-01"),
        ("cold:7:3:2026-05-01", "cold:107:203:2026-05-01"),
        ("losses:7:2026-05-01:more-than-usual", "losses:107:2026-05-01:more-than-usual"),
        ("hot:2026-05-01", "hot:2026-05-01"),
        ("look", "look"),
        ("brooder:7", "brooder:7"),
    ],
)
def test_a_source_or_key_says_the_same_of_the_new_records(said: str, meant: str):
    assert numbers.called(said, moved) == meant


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ({"kind": "forbid_housing", "batch": "7", "housing": "3"}, {"batch": "107", "housing": "203"}),
        ({"batch": "new:duck:1"}, {"batch": "new:duck:1"}),
        ({"batch": "new:4:1"}, {"batch": "new:904:1"}),
        ({"kind": "allow_split", "batch": "7", "parts": 2}, {"batch": "107", "parts": 2}),
        ({"housing": None}, {"housing": None}),
        ({"part": "41.1"}, {"part": "1041.1"}),
        ({"part": "1"}, {"part": "1"}),
        (
            {"batches": [{"key": "7", "forbidden": ["3"], "parts": [{"key": "41.2", "birds": 5}]}]},
            {"batches": [{"key": "107", "forbidden": ["203"], "parts": [{"key": "1041.2", "birds": 5}]}]},
        ),
        (
            {"plans": [{"batch": "7", "parts": [{"key": "1", "stays": [{"housing": "3"}]}]}]},
            {"plans": [{"batch": "107", "parts": [{"key": "1", "stays": [{"housing": "203"}]}]}]},
        ),
    ],
)
def test_a_plan_says_the_same_of_the_new_records(said: dict, meant: dict):
    assert plan_numbers.renewed(said, moved) == {**said, **meant}


def test_what_a_plan_has_read_is_stamped_by_the_new_numbers():
    said = {"entry": 5, "rows": {"farm": [5], "housing:3": 2, "batch:7": 1, "ledger:7": 44, "stay:41": 1}}

    assert plan_numbers.stamps(said, moved) == {
        "entry": 1205,
        "rows": {"farm": [5], "housing:203": 2, "batch:107": 1, "ledger:107": 1144, "stay:1041": 1},
    }


def test_a_proposal_says_the_same_of_the_new_records():
    phrase = {
        "text": "%(line)s",
        "values": {"line": "9", "hatch": {"day": "2026-05-01"}},
        "plural": "",
        "count": "",
    }
    one = {"setter": "2", "hatcher": "2", "lines": ["9"], "stays": [{"housing": "3"}], "why_day": phrase}
    bought = {"supplier": "1", "lines": ["9"], "birds": 9}
    said = {
        **{"sets": [one], "intakes": [bought], "lines": {"9": {"wanted": 9, "why": phrase}}},
        **{"choices": {"duck": "duck", "layer": "4"}, "entry": 5},
    }

    found = plan_numbers.proposal(said, moved)

    named = phrase | {"values": phrase["values"] | {"line": "509"}}
    assert found["sets"] == [
        {"setter": "302", "hatcher": "302", "lines": ["509"], "stays": [{"housing": "203"}], "why_day": named}
    ]
    assert found["intakes"] == [{"supplier": "1301", "lines": ["509"], "birds": 9}]
    assert found["lines"] == {"509": {"wanted": 9, "why": named}}
    assert (found["choices"], found["entry"]) == ({"duck": "duck", "layer": "904"}, 1205)


def test_reserved_numbers_are_new_and_nobody_else_gets_them(world: World):
    before = set(Housing.objects.values_list("pk", flat=True))

    reserved = reserving.reserve(Housing, 3)
    more = reserving.reserve(Housing, 2)
    next_one = world.add_housing("Loft").pk

    assert reserved == sorted(reserved)
    assert len({*before, *reserved, *more, next_one}) == len(before) + 6
    assert reserving.reserve(Housing, 0) == []


def test_numbers_of_a_table_nothing_was_ever_in_begin_somewhere(db: None):
    assert len(set(reserving.reserve(Housing, 2))) == 2
    assert Housing.objects.count() == 0
