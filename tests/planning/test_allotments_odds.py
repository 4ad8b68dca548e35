"""How sure a line may be of its birds: against every fate of every bird, in fractions, and against seeded chance."""

from collections import defaultdict
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry import odds, survival
from farm.planning.allotments import Hold, allot
from tests.planning.allotment_world import BROWN, HEAVY, TODAY, day, farms, line, supply

#: Of HEAVY's birds a fifth is dead by day 10, two by day 20: a bird's last day alive among 0, 10 and 20.
FATES = {0: Fraction(1, 5), 10: Fraction(1, 5), 20: Fraction(3, 5)}


def given_out(fates, held, orders):
    """Return the birds each order gets, bird by bird. orders: (key, day, meant) by rank."""
    here, got = list(fates), {}
    for today in (0, 10, 20):
        here = [fate for fate in here if fate >= today]
        for rank, (key, when, meant) in enumerate(orders):
            if when == today:
                kept = held + sum(birds for _, later, birds in orders[:rank] if later > today)
                birds = max(min(meant, len(here) - kept), 0)
                here, got[key] = here[birds:], birds
    return got


def every_fate(stocks, ranked, shares):
    """Return {key: {birds: chance}} over every fate of every bird."""
    laws = {order.key: {0: Fraction(1)} for order in ranked}
    for stock, weights in stocks:
        meant = {share.wanted: share for share in shares if share.supply == stock.key}
        orders = [
            (order.key, (meant[order.key].day - TODAY).days, meant[order.key].birds)
            for order in ranked
            if order.key in meant
        ]
        own = {key: defaultdict(Fraction) for key, _, _ in orders}
        held = sum(hold.birds for hold in stock.holds)
        for birds, weight in enumerate(weights):
            for fates in product(FATES, repeat=birds):
                chance = Fraction(weight, sum(weights))
                for fate in fates:
                    chance *= FATES[fate]
                for key, got in given_out(fates, held, orders).items():
                    own[key][got] += chance
        for key, law in own.items():
            sums = defaultdict(Fraction)
            for (one, p), (other, q) in product(laws[key].items(), law.items()):
                sums[one + other] += p * q
            laws[key] = sums
    return laws


@st.composite
def dying_farms(draw):
    """Return ((supply, weights of its law), ...) and lines that are given birds on the days FATES knows."""
    stocks = []
    for at in range(draw(st.integers(1, 2))):
        weights = draw(st.lists(st.integers(0, 3), min_size=3, max_size=6).filter(any))
        law = tuple(weight / sum(weights) for weight in weights)
        holds = draw(st.sampled_from(((), (Hold(1),))))
        stocks.append((supply(f"s{at}", law=law, programme=HEAVY, holds=holds), weights))
    asked = []
    for at in range(draw(st.integers(1, 4))):
        when = draw(st.sampled_from((0, 10, 20)))
        birds, priority = draw(st.integers(1, 3)), draw(st.integers(1, 3))
        asked.append(line(f"l{at}", birds, days=(when, when), priority=priority))
    return stocks, sorted(asked, key=lambda order: order.rank)


@settings(max_examples=60, deadline=None)
@given(dying_farms())
def test_odds_are_those_of_every_fate_of_every_bird(farm):
    stocks, ranked = farm
    # Lines that come up short are tried elsewhere: here every line asks for what it can be promised.
    first = allot([stock for stock, _ in stocks], ranked, TODAY)
    ranked = [
        line(order.key, stands.allotted, days=((order.from_on - TODAY).days,) * 2, priority=order.priority)
        for order in ranked
        if (stands := first.lines[order.key]).allotted
    ]
    found = allot([stock for stock, _ in stocks], ranked, TODAY)
    laws = every_fate(stocks, ranked, found.shares)
    for order in ranked:
        stands, law = found.lines[order.key], laws[order.key]
        if not stands.short:
            assert stands.chance == pytest.approx(float(law.get(order.birds, 0)), abs=1e-9)
            assert stands.expected == pytest.approx(float(sum(k * p for k, p in law.items())), abs=1e-9)
            below = sum(p for k, p in law.items() if k < stands.low)
            above = sum(p for k, p in law.items() if k > stands.high)
            assert below <= Fraction(1, 10) + Fraction(1, 10**9)
            assert above <= Fraction(1, 10) + Fraction(1, 10**9)


def test_odds_are_what_many_farms_would_see():
    """Two hatches, one due, and three orders along their days; 40,000 farms with a fixed seed."""
    rng, farms_seen = np.random.default_rng(20260601), 40_000
    hatch = odds.birds(80, [odds.Stage("hatch", 0.8)])
    stock = [
        supply("due", law=tuple(hatch.tolist()), hatched=5, programme=BROWN),
        supply("here", birds=30, hatched=-14, programme=BROWN, holds=(Hold(4),)),
    ]
    asked = [
        line("pullets", 40, ages=(42, 60), days=(45, 60), priority=1),
        line("chicks", 20, ages=(0, 3), days=(5, 9), priority=2),
        line("now", 24, ages=(10, 20), days=(0, 3), priority=3),
    ]
    found = allot(stock, asked, TODAY)
    meant = {(share.wanted, share.supply): share for share in found.shares}
    assert {key: share.birds for key, share in meant.items()} == {
        ("pullets", "due"): 40, ("chicks", "due"): 20, ("now", "here"): 24,
    }  # fmt: skip
    assert meant["pullets", "due"].day == day(47)
    hatched = rng.binomial(80, 0.8, farms_seen)
    chicks = np.clip(hatched - 40, 0, 20)
    pullets = np.minimum(rng.binomial(hatched - chicks, survival.chance(BROWN, 0, 42)), 40)
    for key, got, birds in (("chicks", chicks, 20), ("pullets", pullets, 40)):
        seen = (got == birds).mean()
        assert found.lines[key].chance == pytest.approx(seen, abs=4 * np.sqrt(0.25 / farms_seen))
        assert found.lines[key].expected == pytest.approx(got.mean(), abs=4 * got.std() / np.sqrt(farms_seen))
    assert found.lines["now"].chance == 1


def test_birds_that_are_there_and_leave_today_are_certain():
    stands = allot([supply(birds=10)], [line(birds=10)], TODAY).lines["1"]
    assert (stands.chance, stands.expected, stands.low, stands.high) == (1.0, 10.0, 10, 10)


def test_a_line_short_by_rounding_still_gets_the_bird_that_hatched_after_all():
    hatch = supply(law=(0.0, 0.0, 0.3, 0.7), hatched=3)
    stands = allot([hatch], [line(birds=3)], TODAY).lines["1"]
    assert (stands.allotted, stands.short) == (2, 1)
    assert stands.chance == pytest.approx(0.7)
    assert stands.expected == pytest.approx(2.7)


def test_who_waits_for_a_bird_more_does_not_take_one_meant_for_an_earlier_line():
    hatch = supply(law=(0.0, 0.0, 0.3, 0.7), hatched=3)
    asked = [line("first", 2, priority=1), line("second", 1, priority=2)]
    found = allot([hatch], asked, TODAY).lines
    assert (found["first"].chance, found["first"].allotted) == (pytest.approx(1), 2)
    assert (found["second"].chance, found["second"].allotted) == (pytest.approx(0.7), 0)


def test_birds_of_an_earlier_ranked_line_are_left_though_it_comes_for_them_later():
    asked = [line("later", 6, days=(10, 12), priority=1), line("now", 2, priority=2)]
    found = allot([supply(birds=10, programme=HEAVY)], asked, TODAY).lines
    assert found["now"].chance == 1
    assert found["later"].chance == pytest.approx(odds.chance_of(odds.birds(8, [odds.Stage("", 0.8)]), 6))


def test_one_hen_of_two_chicks_is_had_three_times_in_four():
    stands = allot([supply(birds=2)], [line(birds=1, sex="female")], TODAY).lines["1"]
    assert stands.chance == pytest.approx(0.75)


def test_what_is_over_is_what_neither_holds_nor_lines_take():
    found = allot([supply(birds=10, holds=(Hold(2),))], [line(birds=5)], TODAY)
    assert (found.spare["a"].expected, found.spare["a"].sure, found.spare["a"].from_on) == (3.0, 3, TODAY)


def test_how_many_are_surely_over_hangs_on_how_sure_one_wants_to_be():
    hatch = supply(law=(0.05, 0.1, 0.25, 0.6), hatched=3)
    sure = {
        wish: allot([hatch], [], TODAY, wish).spare["a"].sure for wish in (0.5, 0.6, 0.61, 0.9, 0.95, 0.96, 1)
    }
    assert sure == {0.5: 3, 0.6: 3, 0.61: 2, 0.9: 1, 0.95: 1, 0.96: 0, 1: 0}
    assert allot([hatch], [], TODAY).spare["a"].from_on == day(3)


def test_of_a_batch_that_may_not_be_given_any_more_nothing_is_over():
    assert allot([supply(until=TODAY)], [], TODAY).spare["a"].expected == 0


@given(farms(sexes=False))
def test_every_bird_is_held_given_dead_or_over(farm):
    """Where no bird dies: means add up batch by batch, however few there are."""
    stock = [supply(each.key, law=each.law, hatched=4, holds=each.holds) for each in farm[0]]
    found = allot(stock, farm[1], TODAY)
    given_birds = sum(stands.expected for stands in found.lines.values())
    over = sum(spare.expected for spare in found.spare.values())
    held = sum(
        sum(
            min(birds, sum(hold.birds for hold in each.holds)) * chance
            for birds, chance in enumerate(each.law)
        )
        for each in stock
    )
    assert given_birds + over + held == pytest.approx(sum(odds.mean(each.law) for each in stock))


@given(farms())
def test_odds_are_chances_and_bands_hold_the_middle(farm):
    for stands in allot(*farm, TODAY).lines.values():
        assert 0 <= stands.chance <= 1
        assert 0 <= stands.low <= stands.high <= stands.ordered
        assert 0 <= stands.expected <= stands.ordered + 1e-9
        if stands.ordered == 0:
            assert (stands.chance, stands.short) == (1, 0)


@given(farms())
def test_the_law_of_a_line_is_what_its_odds_are_read_from(farm):
    found = allot(*farm, TODAY)
    for key, stands in found.lines.items():
        law = found.law(key)
        assert law.sum() == pytest.approx(1)
        assert (odds.mean(law), odds.band(law)) == (pytest.approx(stands.expected), (stands.low, stands.high))
        assert odds.chance_of(law, stands.ordered) == pytest.approx(stands.chance)
    with pytest.raises(KeyError):
        found.law("nobody")
