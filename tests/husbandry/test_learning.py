"""What a farm learns: beliefs between the table and what was seen, narrower with each egg, in any order."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import beta
from farm.husbandry.learning import Belief, SetResult, intake_losses, learned

MEAN, WORTH = st.floats(0.01, 0.99), st.floats(1, 500)
BELIEF = st.builds(Belief.of, MEAN, WORTH)
COUNT = st.integers(0, 500)
FERTILE, HATCHED = Belief.of(0.85, 50), Belief.of(0.7, 50)


@st.composite
def results(draw):
    eggs = draw(st.integers(1, 200))
    clear = draw(st.one_of(st.none(), st.integers(0, eggs)))
    return SetResult(draw(st.integers(1, 12)), eggs, clear, draw(st.integers(0, eggs - (clear or 0))))


def same(one, other):
    return (one.a, one.b) == pytest.approx((other.a, other.b))


@given(MEAN, WORTH)
def test_a_belief_keeps_the_mean_and_worth_it_was_made_of(mean, worth):
    belief = Belief.of(mean, worth)
    assert (belief.mean, belief.worth) == pytest.approx((mean, worth))


@given(BELIEF, COUNT, COUNT)
def test_what_was_seen_pulls_the_mean_toward_it_and_adds_to_the_worth(prior, yes, no):
    after = prior.seen(yes, no)
    assert after.worth == pytest.approx(prior.worth + yes + no)
    rate = yes / (yes + no) if yes + no else prior.mean
    assert min(prior.mean, rate) - 1e-12 <= after.mean <= max(prior.mean, rate) + 1e-12


def test_as_many_seen_as_the_prior_is_worth_count_half():
    assert Belief.of(0.95, 50).seen(40, 10).mean == pytest.approx((0.95 + 0.80) / 2)


@given(BELIEF, WORTH)
def test_a_belief_weighed_anew_keeps_its_mean(belief, worth):
    weighed = belief.as_worth(worth)
    assert (weighed.mean, weighed.worth) == pytest.approx((belief.mean, worth))


@given(BELIEF, st.floats(0.01, 0.99))
def test_as_much_lies_below_an_interval_as_above_it_to_a_billionth_of_the_rate(belief, share):
    low, high = belief.interval(share)
    assert 0 <= low <= high <= 1
    for end, below in ((low, (1 - share) / 2), (high, (1 + share) / 2)):
        just_under, just_over = (beta.cumulative(belief.a, belief.b, end + off) for off in (-1e-9, 1e-9))
        assert just_under <= below <= just_over


@given(st.floats(0.2, 0.8), WORTH)
def test_more_evidence_narrows_the_interval(mean, worth):
    wide, narrow = (Belief.of(mean, size).interval(0.5) for size in (worth + 10, 4 * worth + 40))
    assert narrow[1] - narrow[0] < wide[1] - wide[0]


@given(BELIEF, st.floats(0.01, 0.99))
def test_a_belief_turned_round_has_its_interval_turned_round(belief, share):
    low, high = belief.interval(share)
    turned = Belief(belief.b, belief.a).interval(share)
    assert turned == pytest.approx((1 - high, 1 - low), abs=1e-9)


def test_a_flat_belief_has_its_quantiles_where_they_are_asked_for():
    assert Belief(1, 1).interval(0.9) == pytest.approx((0.05, 0.95), abs=1e-12)
    assert Belief(1, 1).interval(1) == (0, 1)


def test_quantiles_that_can_be_worked_by_hand_come_out():
    """P(rate <= x) under Beta(1/2, 1) is the root of x, under Beta(3, 1) its cube."""
    assert beta.quantile(0.5, 1, 0.3) == pytest.approx(0.09, abs=1e-12)
    assert beta.quantile(3, 1, 0.2) == pytest.approx(0.2 ** (1 / 3), abs=1e-12)


def test_a_belief_on_ten_million_eggs_still_has_an_interval():
    low, high = Belief.of(0.7, 1e7).interval(0.9)
    assert 0.6997 < low < 0.7 < high < 0.7003


def test_a_farm_without_egg_sets_believes_the_table():
    taught = learned(FERTILE, HATCHED, [])
    assert (taught.fertility, taught.hatch) == (FERTILE, HATCHED)
    assert list(taught.by_month) == list(range(1, 13))
    assert all(same(month, HATCHED) for month in taught.by_month.values())


def test_two_sets_worked_by_hand():
    taught = learned(FERTILE, HATCHED, [SetResult(3, 100, 10, 80), SetResult(4, 50, None, 20)])
    assert same(taught.fertility, Belief(42.5 + 90, 7.5 + 10))  # the second set was never candled
    assert same(taught.hatch, Belief(35 + 100, 15 + 50))
    start = 135 / 200 * 50
    assert same(taught.by_month[3], Belief(start + 80, 50 - start + 20))
    assert same(taught.by_month[4], Belief(start + 20, 50 - start + 30))
    assert same(taught.by_month[12], Belief(start, 50 - start))


@given(BELIEF, BELIEF, st.lists(results(), max_size=12), st.randoms())
def test_egg_sets_teach_the_same_in_any_order(fertile, hatched, sets, random):
    mixed = list(sets)
    random.shuffle(mixed)
    one, other = learned(fertile, hatched, sets), learned(fertile, hatched, iter(mixed))
    assert same(one.fertility, other.fertility)
    assert same(one.hatch, other.hatch)
    assert all(same(one.by_month[month], other.by_month[month]) for month in range(1, 13))


@given(BELIEF, BELIEF, st.lists(results(), max_size=12))
def test_every_egg_counts_once_in_its_own_month_and_once_in_all(fertile, hatched, sets):
    taught = learned(fertile, hatched, sets)
    assert taught.hatch.worth == pytest.approx(hatched.worth + sum(one.eggs for one in sets))
    months = sum(belief.worth - hatched.worth for belief in taught.by_month.values())
    assert months == pytest.approx(sum(one.eggs for one in sets), abs=1e-6)


@given(BELIEF, st.lists(st.tuples(COUNT, COUNT), max_size=6))
def test_intakes_teach_how_many_arrive_alive(prior, intakes):
    belief = intake_losses(prior, intakes)
    assert same(belief, prior.seen(sum(alive for alive, _ in intakes), sum(dead for _, dead in intakes)))


@pytest.mark.parametrize("mean, worth", [(0, 50), (1, 50), (-0.1, 50), (1.1, 50), (0.5, 0), (0.5, -1)])
def test_a_belief_that_leaves_no_doubt_or_no_sense_is_refused(mean, worth):
    with pytest.raises(ValueError, match="above 0"):
        Belief.of(mean, worth)


@pytest.mark.parametrize("yes, no", [(-1, 0), (0, -1)])
def test_fewer_than_none_seen_is_refused(yes, no):
    with pytest.raises(ValueError, match="below 0"):
        Belief(1, 1).seen(yes, no)
    with pytest.raises(ValueError, match="below 0"):
        intake_losses(Belief(1, 1), [(5, 5), (yes, no)])


@pytest.mark.parametrize("share", [-0.2, 1.2])
def test_an_interval_of_an_impossible_share_is_refused(share):
    with pytest.raises(ValueError, match="share"):
        Belief(1, 1).interval(share)


@pytest.mark.parametrize("q", [-0.01, 1.01])
def test_a_quantile_of_a_rate_outside_zero_to_one_is_refused(q):
    with pytest.raises(ValueError, match="within 0 to 1"):
        beta.quantile(1, 1, q)


@pytest.mark.parametrize(
    "month, eggs, clear, hatched",
    [
        (0, 10, None, 5),
        (13, 10, None, 5),
        (5, 0, None, 0),
        (5, 10, -1, 5),
        (5, 10, None, -1),
        (5, 10, None, 11),
        (5, 10, 4, 7),
    ],
)
def test_an_egg_set_that_cannot_be_is_refused(month, eggs, clear, hatched):
    with pytest.raises(ValueError, match="must"):
        SetResult(month, eggs, clear, hatched)
