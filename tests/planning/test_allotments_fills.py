"""How many birds each line gets: the most in order of rank, judged by trying everything, by HiGHS and by laws."""

from collections import defaultdict
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry import odds, survival
from farm.planning.allotments import Hold, allot
from farm.planning.allotments.flow import fill, room_for
from farm.planning.allotments.pool import pool
from farm.planning.exact.model import Model
from tests.planning.allotment_world import HEAVY, NO_LOSSES, TODAY, day, farms, line, supply


def fills(stock, wanted):
    """Return the birds meant for each line, by rank."""
    return fill(pool(stock, wanted, TODAY)).fills


def by_key(stock, wanted):
    return {key: odds.allotted for key, odds in allot(stock, wanted, TODAY).lines.items()}


# Trying everything


def most_by_trying(question):
    """Return the lexicographic most over every whole number of birds on every pair."""
    caps = [min(question.lines[pair.line].birds, 5) for pair in question.pairs]
    best = (0,) * len(question.lines)
    for birds in product(*(range(cap + 1) for cap in caps)):
        got = [0] * len(question.lines)
        for pair, given_birds in zip(question.pairs, birds, strict=True):
            got[pair.line] += given_birds
        if tuple(got) > best and all(
            most <= wanted.birds for most, wanted in zip(got, question.lines, strict=True)
        ):
            limits = room_for(question, got)
            loads = [[0] * len(part.days) for part in question.parts]
            for pair, given_birds in zip(question.pairs, birds, strict=True):
                for bucket in range(pair.bucket + 1):
                    loads[pair.part][bucket] += given_birds
            if all(
                load <= most
                for own, limit in zip(loads, limits, strict=True)
                for load, most in zip(own, limit, strict=True)
            ):
                best = tuple(got)
    return best


@settings(max_examples=150, deadline=None)
@given(farms(most_supplies=2, most_lines=3, most=3))
def test_no_other_sharing_serves_the_lines_better_in_order_of_rank(farm):
    question = pool(*farm, TODAY)
    if len(question.pairs) <= 7:
        assert fill(question).fills == most_by_trying(question)


# HiGHS as the judge


def flows(question, limits, wanted, goal=False):
    """Return whether lines can get exactly so many birds; with a goal, the most birds they get together."""
    model = Model()
    columns = [model.column(-1.0, high=wanted[pair.line], whole=True) for pair in question.pairs]
    for place, places in enumerate(question.by_line):
        model.row({columns[at]: 1 for at in places}, low=0 if goal else wanted[place], high=wanted[place])
    for part, limit in enumerate(limits):
        for bucket, most in enumerate(limit):
            later = [at for at in question.by_part[part] if question.pairs[at].bucket >= bucket]
            model.row({columns[at]: 1 for at in later}, high=most)
    outcome = model.run(10)
    return round(-outcome.cost) if goal else outcome.values is not None


@settings(max_examples=60, deadline=None)
@given(farms(most_supplies=4, most_lines=6, most=12))
def test_another_solver_finds_no_bird_more_for_any_line(farm):
    question = pool(*farm, TODAY)
    found = list(fill(question).fills)
    served = [at for at in range(len(found)) if question.by_line[at]]
    for at in served:
        before = [*found[: at + 1], *([0] * (len(found) - at - 1))]
        assert flows(question, room_for(question, before), before)
        if found[at] < question.lines[at].birds:
            before[at] += 1
            assert not flows(question, room_for(question, before), before)


@settings(max_examples=60, deadline=None)
@given(farms(most_supplies=4, most_lines=6, most=12, programmes=(NO_LOSSES,)))
def test_where_no_bird_dies_serving_by_rank_costs_no_bird_in_all(farm):
    question = pool(*farm, TODAY)
    wanted = [line.birds for line in question.lines]
    none_kept = room_for(question, [0] * len(wanted))
    assert sum(fill(question).fills) == flows(question, none_kept, wanted, goal=True)


# Laws that always hold


@given(farms(most_supplies=4, most_lines=6, most=12))
def test_what_is_promised_is_there_on_every_day_with_all_that_dies_until_then(farm):
    found = allot(*farm, TODAY)
    by_supply = defaultdict(list)
    for share in found.shares:
        by_supply[share.supply].append(share)
    for stock in farm[0]:
        alive, then = odds.mean(stock.law), stock.known_on
        held = sum(hold.birds for hold in stock.holds if hold.sex == "any")
        hens = sum(hold.birds for hold in stock.holds if hold.sex == "female")
        there = stock.female_share * alive
        for share in sorted(by_supply[stock.key], key=lambda share: share.day):
            ages = [(each - stock.hatch_day).days for each in (then, share.day)]
            alive *= survival.chance(stock.programme, *ages)
            there *= survival.chance(stock.programme, *ages)
            alive, then = alive - share.birds, share.day
            assert alive >= held + min(hens, there) - 1e-6


@given(farms())
def test_every_share_is_of_the_right_type_age_and_days(farm):
    stock, wanted = ({each.key: each for each in group} for group in farm)
    for share in allot(*farm, TODAY).shares:
        batch, order = stock[share.supply], wanted[share.wanted]
        assert share.birds > 0
        assert batch.type == order.type
        assert max(batch.from_on, order.from_on, TODAY) <= share.day <= order.to_on
        assert batch.until is None or share.day < batch.until
        assert order.age_from_days <= (share.day - batch.hatch_day).days <= order.age_to_days


@given(farms())
def test_shares_add_up_to_what_the_lines_are_said_to_get(farm):
    found = allot(*farm, TODAY)
    for order in farm[1]:
        own = [share.birds for share in found.shares if share.wanted == order.key]
        stands = found.lines[order.key]
        assert (sum(own), stands.ordered) == (stands.allotted, order.birds)
        assert stands.allotted + stands.short == stands.ordered
        assert (stands.reason is None) == (stands.short == 0)


def one_more(stock):
    return replace(stock, law=(0.0, *stock.law))


@given(farms(), st.data())
def test_one_more_bird_never_leaves_the_lines_worse_served(farm, data):
    stock, wanted = farm
    at = data.draw(st.integers(0, len(stock) - 1))
    more = [one_more(each) if place == at else each for place, each in enumerate(stock)]
    assert fills(more, wanted) >= fills(stock, wanted)


@given(farms(), st.data())
def test_one_more_batch_never_leaves_the_lines_worse_served(farm, data):
    stock, wanted = farm
    fewer = stock[: data.draw(st.integers(0, len(stock) - 1))]
    assert fills(stock, wanted) >= fills(fewer, wanted)


@given(farms(), st.data())
def test_a_hold_never_leaves_the_lines_better_served(farm, data):
    stock, wanted = farm
    at = data.draw(st.integers(0, len(stock) - 1))
    held = [
        replace(each, holds=(*each.holds, Hold(1))) if place == at else each
        for place, each in enumerate(stock)
    ]
    assert fills(held, wanted) <= fills(stock, wanted)


@given(farms(sexes=False))
def test_no_line_gets_less_because_of_lines_ranked_after_it(farm):
    stock, wanted = farm
    ranked = sorted(wanted, key=lambda order: order.rank)
    found = fills(stock, wanted)
    for many in range(len(ranked)):
        assert fills(stock, ranked[:many]) == found[:many]


@given(farms(most_supplies=4, most_lines=5), st.randoms(use_true_random=False))
def test_the_order_of_the_input_changes_nothing(farm, chance):
    stock, wanted = farm
    mixed, shuffled = stock.copy(), wanted.copy()
    chance.shuffle(mixed)
    chance.shuffle(shuffled)
    one, other = allot(stock, wanted, TODAY), allot(mixed, shuffled, TODAY)
    assert (one.shares, one.lines, one.spare) == (other.shares, other.lines, other.spare)


# Cases a keeper would know


def test_priority_goes_before_date_and_date_before_key():
    asked = [
        line("z", 4, days=(3, 9), priority=1), line("y", 4, days=(0, 9), priority=2),
        line("x", 4, days=(1, 9), priority=2), line("w", 4, days=(1, 9), priority=2),
    ]  # fmt: skip
    assert by_key([supply(birds=10)], asked) == {"z": 4, "y": 4, "w": 2, "x": 0}


def test_a_picky_line_gets_its_birds_though_an_easy_one_came_first():
    stock = [supply("a", 5, hatched=-10), supply("b", 5, hatched=-30)]
    asked = [line("easy", 5, priority=1), line("picky", 5, ages=(0, 12), priority=2)]
    assert by_key(stock, asked) == {"easy": 5, "picky": 5}


def test_held_birds_are_out_of_reach_even_of_the_first():
    assert by_key([supply(birds=10, holds=(Hold(3), Hold(1)))], [line(birds=10)]) == {"1": 6}


def test_birds_are_counted_whole_and_never_rounded_up():
    expected = supply(law=(0.0, 0.0, 0.5, 0.5), hatched=3)
    assert by_key([expected], [line(birds=3)]) == {"1": 2}


def test_a_line_that_waits_gets_what_will_be_left_of_the_batch():
    assert by_key([supply(birds=100, programme=HEAVY)], [line(birds=100, days=(10, 12))]) == {"1": 80}


def test_day_olds_are_not_kept_back_for_a_later_order_that_ranks_after():
    stock = supply(birds=100, programme=HEAVY)
    asked = [line("now", 100, priority=1), line("later", 50, days=(20, 20), priority=2)]
    assert by_key([stock], asked) == {"now": 100, "later": 0}


def test_a_later_order_that_ranks_first_has_its_losses_set_aside():
    stock = supply(birds=100, programme=HEAVY)
    asked = [line("later", 60, days=(20, 20), priority=1), line("now", 50, priority=2)]
    assert by_key([stock], asked) == {"later": 60, "now": 0}
    asked[0] = replace(asked[0], birds=30)
    assert by_key([stock], asked) == {"later": 30, "now": 50}
    asked[1] = replace(asked[1], birds=51)
    assert by_key([stock], asked) == {"later": 30, "now": 50}


def test_pullets_and_cockerels_are_half_and_half_in_straight_run():
    asked = [line("hens", 9, sex="female"), line("cocks", 9, sex="male"), line("whatever", 9, priority=2)]
    assert by_key([supply(birds=16)], asked) == {"hens": 8, "cocks": 8, "whatever": 0}


def test_who_takes_any_bird_takes_those_nobody_else_asks_for():
    asked = [line("any", 8, priority=1), line("hens", 8, sex="female", priority=2)]
    assert by_key([supply(birds=16)], asked) == {"any": 8, "hens": 8}


def test_sexing_is_right_nine_times_in_ten():
    stock = supply(birds=20, female_share=0.9)
    assert by_key([stock], [line("hens", 20, sex="female")]) == {"hens": 18}


@pytest.mark.parametrize("birds, expected", [(29, 29), (30, 29)])
def test_thirty_at_a_mean_a_hair_below_is_twenty_nine_but_a_rounding_error_costs_no_bird(birds, expected):
    # Ten times 2.9 birds in the mean, once summed exactly: 29 of 30 at a chance of 29/30.
    chance = float(Fraction(29, 30))
    law = tuple(odds.birds(30, [odds.Stage("hatch", chance)]).tolist())
    assert by_key([supply(law=law, hatched=2)], [line(birds=birds)]) == {"1": expected}


def test_the_last_hand_over_day_of_a_batch_is_the_day_before_it_ends():
    stock = supply(birds=4, until=day(5))
    assert by_key([stock], [line("in", 1, days=(4, 9)), line("out", 1, days=(5, 9))]) == {"in": 1, "out": 0}
