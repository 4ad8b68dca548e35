"""Odds of whole birds: laws stay laws, stages may change places, and the fewest to begin with are the fewest."""

import time

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from farm.husbandry import binomial, odds
from farm.husbandry.odds import Stage

BIRDS = st.integers(0, 150)
WORTH = st.one_of(st.none(), st.floats(0.5, 500), st.just(1e7))
STAGE = st.builds(Stage, st.just("passes"), st.floats(0, 1), WORTH)
STAGES = st.lists(STAGE, max_size=4)
CONFIDENCE = st.sampled_from([0.0, 0.3, 0.5, 0.8, 0.9, 0.95, 0.99])
FERTILE, HATCHED, ALIVE = Stage("fertile", 0.85, 50), Stage("hatched", 0.8, 50), Stage("alive", 0.95)


@st.composite
def laws(draw):
    weights = np.array(draw(st.lists(st.integers(0, 20), min_size=1, max_size=25).filter(any)), dtype=float)
    return weights / weights.sum()


def close(one, other):
    np.testing.assert_allclose(one, other, rtol=0, atol=1e-12)


@given(BIRDS, STAGES)
def test_the_law_of_birds_is_a_law_around_the_product_of_the_chances(n, stages):
    law = odds.birds(n, stages)
    assert len(law) == n + 1
    assert law.min() >= 0
    assert law.sum() == pytest.approx(1, abs=1e-12)
    assert odds.mean(law) == pytest.approx(n * np.prod([stage.chance for stage in stages]), abs=1e-9)


@given(BIRDS, STAGES, st.randoms())
def test_stages_may_change_places(n, stages, random):
    mixed = list(stages)
    random.shuffle(mixed)
    close(odds.birds(n, mixed), odds.birds(n, stages))


@given(laws(), STAGES, STAGES)
def test_stages_may_be_passed_at_once_or_one_after_the_other(start, first, then):
    close(odds.after(odds.after(start, first), then), odds.after(start, [*first, *then]))


@given(laws(), STAGES)
def test_a_start_that_is_not_sure_mixes_the_laws_of_each_start(start, stages):
    mixed = np.zeros(len(start))
    for n, chance in enumerate(start):
        mixed[: n + 1] += chance * odds.birds(n, stages)
    close(odds.after(start, stages), mixed)


@pytest.mark.parametrize("worth", [None, 5, 1e6])
def test_a_start_of_either_very_few_or_very_many_keeps_both(worth):
    stage, start = Stage("passes", 0.3, worth), np.zeros(5_001)
    start[[3, 5_000]] = 0.25, 0.75
    few, many = odds.birds(3, [stage]), odds.birds(5_000, [stage])
    close(odds.after(start, [stage]), 0.25 * np.pad(few, (0, 4_997)) + 0.75 * many)


@given(BIRDS, st.lists(st.floats(0, 1), min_size=1, max_size=4))
def test_known_chances_are_one_binomial(n, chances):
    close(odds.birds(n, [Stage("passes", p) for p in chances]), binomial.pmf(n, float(np.prod(chances))))


@given(BIRDS, st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_a_chance_on_endless_evidence_is_a_known_one(n, sure, learned):
    endless = odds.birds(n, [Stage("sure", sure), Stage("learned", learned, 1e14)])
    np.testing.assert_allclose(endless, binomial.pmf(n, sure * learned), rtol=0, atol=1e-9)


@given(st.integers(2, 150), st.floats(0.1, 0.9), st.floats(1, 50))
def test_less_evidence_spreads_the_birds_wider(n, chance, worth):
    def spread(law):
        return float(law @ (np.arange(n + 1) - odds.mean(law)) ** 2)

    less, more = (odds.birds(n, [ALIVE, Stage("learned", chance, size)]) for size in (worth, 4 * worth))
    assert spread(less) > spread(more)


def test_no_stage_loses_nobody_and_a_hopeless_one_leaves_none():
    assert odds.birds(3, []).tolist() == [0, 0, 0, 1]
    assert odds.birds(3, [ALIVE, Stage("hopeless", 0, 50)]).tolist() == [1, 0, 0, 0]
    assert odds.after([0.5, 0, 0.5], [Stage("sure", 1, 50)]).tolist() == [0.5, 0, 0.5]
    assert odds.after([0.5, 0, 0.5], [Stage("hopeless", 0)]).tolist() == [1, 0, 0]


def test_a_law_that_was_handed_out_cannot_be_spoiled_for_the_next_who_asks():
    law = odds.birds(10, [ALIVE])
    with pytest.raises(ValueError, match="read-only"):
        law[0] = 1


@given(st.lists(laws(), max_size=4), st.randoms())
def test_lots_together_add_up_in_any_order(lots, random):
    total = odds.together(lots)
    assert total.sum() == pytest.approx(1, abs=1e-12)
    assert odds.mean(total) == pytest.approx(sum(odds.mean(law) for law in lots))
    mixed = list(lots)
    random.shuffle(mixed)
    close(odds.together(mixed), total)


@given(BIRDS, BIRDS, st.floats(0, 1))
def test_a_lot_cut_in_two_at_a_known_chance_is_the_whole_lot(one, other, p):
    halves = odds.together([odds.birds(one, [Stage("p", p)]), odds.birds(other, [Stage("p", p)])])
    close(halves, odds.birds(one + other, [Stage("p", p)]))


def test_birds_of_no_lot_are_surely_none():
    assert odds.together([]).tolist() == [1]


@given(laws(), st.integers(-3, 30))
def test_at_least_so_many_is_never_likelier_for_more(law, wanted):
    assert 0 <= odds.chance_of(law, wanted + 1) <= odds.chance_of(law, wanted) + 1e-15  # sums round
    assert odds.chance_of(law, wanted) <= 1
    assert odds.chance_of(law, 0) == 1
    assert odds.chance_of(law, len(law)) == 0


@given(laws(), st.floats(0, 1))
def test_a_band_leaves_at_most_half_of_the_rest_on_each_side(law, share):
    low, high = odds.band(law, share)
    assert low <= high
    assert law[:low].sum() <= (1 - share) / 2 + 1e-9
    assert law[high + 1 :].sum() <= (1 - share) / 2 + 1e-9


@given(st.integers(0, 80), STAGES, st.integers(-1, 60), laws())
def test_one_more_at_the_start_never_lowers_the_chance(n, stages, wanted, others):
    fewer, more = (odds.together([others, odds.birds(size, stages)]) for size in (n, n + 1))
    assert odds.chance_of(more, wanted) >= odds.chance_of(fewer, wanted) - odds.ROUNDING


@settings(max_examples=60)
@given(st.integers(-2, 25), STAGES, CONFIDENCE, st.one_of(st.none(), laws()), st.integers(0, 150))
def test_the_fewest_to_begin_with_are_what_trying_every_number_finds(
    wanted, stages, confidence, besides, most
):
    others = np.ones(1) if besides is None else besides
    chances = [
        odds.chance_of(odds.together([others, odds.birds(n, stages)]), wanted) for n in range(most + 1)
    ]
    assume(all(abs(chance - confidence + odds.ROUNDING) > 1e-13 for chance in chances))  # decided by rounding
    enough = [n for n, chance in enumerate(chances) if chance >= confidence - odds.ROUNDING]
    found = odds.smallest_start(wanted, stages, confidence, besides=besides, most=most)
    assert found == (enough[0] if enough else None)


def test_birds_from_elsewhere_lower_what_must_be_begun():
    alone = odds.smallest_start(60, [FERTILE, HATCHED, ALIVE], 0.9)
    helped = odds.smallest_start(60, [FERTILE, HATCHED, ALIVE], 0.9, besides=binomial.pmf(20, 0.9))
    assert 0 < helped < alone
    assert odds.smallest_start(15, [ALIVE], 0.9, besides=binomial.pmf(20, 0.9)) == 0


def test_what_no_allowed_number_reaches_has_no_answer():
    assert odds.smallest_start(20, [ALIVE], 0.9, most=20) is None
    assert odds.smallest_start(1, [Stage("hopeless", 0)], 0.1) is None
    assert odds.smallest_start(1, [ALIVE], 0.1, most=0) is None


def test_a_chance_exactly_as_sure_as_wanted_is_enough():
    assert odds.smallest_start(1, [Stage("one in ten fails", 0.9)], 0.9) == 1
    assert odds.smallest_start(2, [Stage("a", 0.9), Stage("b", 0.9)], 0.81**2) == 2


@pytest.mark.parametrize(
    "chance, worth", [(-0.1, None), (1.1, None), (float("nan"), None), (0.5, 0), (0.5, -1)]
)
def test_an_impossible_stage_is_refused(chance, worth):
    with pytest.raises(ValueError, match="must be"):
        Stage("impossible", chance, worth)


@pytest.mark.parametrize("law", [[], [0.5, 0.4], [1.5, -0.5], [[1.0]], [float("nan")]])
def test_what_is_no_law_is_refused(law):
    for asked in (lambda: odds.after(law, []), lambda: odds.together([law]), lambda: odds.band(law)):
        with pytest.raises(ValueError, match="a law is"):
            asked()
    with pytest.raises(ValueError, match="a law is"):
        odds.smallest_start(5, [ALIVE], 0.9, besides=law)


@pytest.mark.parametrize("confidence, most", [(1, 10), (-0.1, 10), (0.9, -1)])
def test_a_search_that_could_never_end_well_is_refused(confidence, most):
    with pytest.raises(ValueError, match="confidence"):
        odds.smallest_start(5, [ALIVE], confidence, most=most)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_band_of_an_impossible_share_is_refused(share):
    with pytest.raises(ValueError, match="share"):
        odds.band([0.5, 0.5], share)


def test_odds_are_quick_enough_to_ask_many_times():
    """Limits a slow machine keeps with room to spare: 20 ms a law of 200 eggs, 50 ms a search; best of five."""

    def best(ask):
        spans = []
        for thousandth in range(5):  # other chances each time, or the second answer would be a remembered one
            stages = [Stage("fertile", 0.851 - thousandth / 1000, 50), HATCHED, ALIVE]
            begun = time.perf_counter()
            ask(stages)
            spans.append(time.perf_counter() - begun)
        return min(spans)

    assert best(lambda stages: odds.birds(200, stages)) < 0.020
    assert best(lambda stages: odds.smallest_start(60, stages, 0.9)) < 0.050
