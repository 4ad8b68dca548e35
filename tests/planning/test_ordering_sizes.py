"""How many eggs: against the law of one line, and against many simulated hatches where lines and sexes meet."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from farm.husbandry import odds, survival
from farm.husbandry.odds import Stage
from farm.planning.ordering.sizing import Ask, Sizer, all_met, available, bought, hatching, outcomes
from tests.planning.ordering_world import kind

ANY = kind()
LEARNED = kind(hatch=(Stage("fertile", 0.9), Stage("hatched", 0.78, 50.0)), prior_birds=50.0)
asks = st.builds(
    Ask, st.integers(1, 30), st.sampled_from(("any", "female", "male")), st.sampled_from((0, 7, 7, 28, 56))
)


def simulated(given, n, rows, seed=7, times=20_000, early_females=0.5):
    """The share of simulated hatches in which every row is met, birds as hatched taken from those least wanted.

    Before every bird of a sex has gone nobody knows which will be left: then so large a share of them is females.
    """
    random = np.random.default_rng(seed)
    hatched = np.full(times, n)
    for stage in given.hatch:
        p = stage.chance
        if stage.worth:
            p = random.beta(stage.worth * p, stage.worth * (1 - p), times)
        hatched = random.binomial(hatched, p)
    females = random.binomial(hatched, given.female_share)
    flock, age, met = {"female": females, "male": hatched - females}, 0, np.ones(times, dtype=bool)
    for at, ask in enumerate(sorted(rows, key=lambda ask: ask.age_days)):
        kept = survival.chance(given.programme, age, ask.age_days)
        flock, age = {sex: random.binomial(birds, kept) for sex, birds in flock.items()}, ask.age_days
        if ask.sex == "any":
            later = sorted(rows, key=lambda ask: ask.age_days)[at + 1 :]
            if any(each.sex != "any" and each.age_days > ask.age_days for each in later):
                females = round(early_females * ask.birds)
                parts = {"female": females, "male": ask.birds - females}
                met &= np.all([flock[sex] >= birds for sex, birds in parts.items()], axis=0)
                flock = {sex: np.maximum(flock[sex] - birds, 0) for sex, birds in parts.items()}
                continue
            asked = {sex: sum(each.birds for each in later if each.sex == sex) for sex in flock}
            first = min(flock, key=lambda sex: (asked[sex], sex))
            other = next(sex for sex in flock if sex != first)
            spare = np.clip(flock[first] - asked[first], 0, ask.birds)
            more = np.clip(flock[other] - asked[other], 0, ask.birds - spare)
            rest = ask.birds - spare - more
            again = np.minimum(flock[first] - spare, rest)
            met &= flock[first] + flock[other] >= ask.birds
            flock = {
                first: flock[first] - spare - again,
                other: np.maximum(flock[other] - more - (rest - again), 0),
            }
        else:
            met &= flock[ask.sex] >= ask.birds
            flock = {**flock, ask.sex: np.maximum(flock[ask.sex] - ask.birds, 0)}
    return met.mean()


@pytest.mark.parametrize("sex, share", (("any", 1.0), ("female", 0.5), ("male", 0.5)))
@pytest.mark.parametrize("confidence", (0.5, 0.9, 0.99))
def test_one_line_takes_what_the_law_of_one_line_says(sex, share, confidence):
    stages = (*ANY.hatch, Stage(sex, share), Stage("lived", survival.chance(ANY.programme, 0, 28)))
    found = Sizer(confidence).smallest(ANY, hatching(ANY), [Ask(20, sex, 28)])
    assert found == odds.smallest_start(20, stages, confidence)


def test_birds_there_already_are_counted_by_their_law():
    besides = (0.2, 0.0, 0.3, 0.5)
    found = Sizer(0.9).smallest(ANY, hatching(ANY), [Ask(5, "any", 0, besides)])
    assert found == odds.smallest_start(5, ANY.hatch, 0.9, besides=besides)
    assert found < Sizer(0.9).smallest(ANY, hatching(ANY), [Ask(5, "any", 0)])


def test_lines_of_one_age_are_one_line_of_the_sum():
    together = Sizer(0.9).smallest(ANY, hatching(ANY), [Ask(4, "any", 7), Ask(9, "any", 7), Ask(2, "any", 7)])
    assert together == Sizer(0.9).smallest(ANY, hatching(ANY), [Ask(15, "any", 7)])


@settings(max_examples=40, deadline=None)
@given(rows=st.lists(asks, min_size=1, max_size=4), confidence=st.sampled_from((0.6, 0.9)))
def test_so_many_are_enough_and_one_fewer_is_not(rows, confidence):
    start = hatching(LEARNED)
    found = Sizer(confidence).smallest(LEARNED, start, rows)
    assert all_met(LEARNED, start, found, rows) >= confidence - odds.ROUNDING
    assert found == 1 or all_met(LEARNED, start, found - 1, rows) < confidence
    # Each line by itself is met at least as surely as all are.
    assert min(each.chance for each in outcomes(LEARNED, start, found, rows)) >= confidence - 1e-9


@pytest.mark.parametrize("ages", ((0, 0), (0, 28), (7, 56)))
@pytest.mark.parametrize("sex", ("any", "female"))
def test_lines_of_one_sex_are_met_as_often_as_simulated(ages, sex):
    rows = [Ask(9, sex, ages[0]), Ask(12, sex, ages[1])]
    # The learned share of losses is drawn anew between ages; known losses make both the same question.
    given = replace(LEARNED, prior_birds=None)
    assert all_met(given, hatching(given), 60, rows) == pytest.approx(simulated(given, 60, rows), abs=0.012)


@settings(max_examples=25, deadline=None)
@example(rows=[Ask(2, "male", 7), Ask(3, "any", 0), Ask(3, "female", 7)], n=20)
@given(rows=st.lists(asks, min_size=2, max_size=4), n=st.integers(20, 160))
def test_where_sexes_meet_the_chance_said_is_never_above_what_can_be_had(rows, n):
    best = max(simulated(ANY, n, rows, times=8_000, early_females=share) for share in np.linspace(0, 1, 21))
    assert all_met(ANY, hatching(ANY), n, rows) <= best + 0.015


def test_females_and_males_for_different_lines_come_of_one_hatch():
    both = Sizer(0.9).smallest(ANY, hatching(ANY), [Ask(20, "female", 0), Ask(20, "male", 0)])
    one = Sizer(0.9).smallest(ANY, hatching(ANY), [Ask(20, "female", 0)])
    assert one < both < 1.3 * one


def test_bought_females_need_no_brothers():
    females = Sizer(0.9).smallest(ANY, bought(ANY, "female", 1), [Ask(20, "female", 7)])
    as_hatched = Sizer(0.9).smallest(ANY, bought(ANY, "any", 1), [Ask(20, "female", 7)])
    assert females < 25 < as_hatched


def test_no_number_is_enough_where_nothing_hatches():
    barren = kind(hatch=(Stage("hatched", 0.0),))
    assert Sizer(0.9).smallest(barren, hatching(barren), [Ask(1, "any", 0)]) is None


def test_birds_expected_are_at_most_those_wanted_and_those_alive():
    rows = [Ask(10, "any", 7), Ask(10, "any", 28)]
    first, second = outcomes(ANY, hatching(ANY), 20, rows)
    assert first.expected == pytest.approx(10, abs=0.1)
    alive = odds.mean(available(ANY, hatching(ANY), 20, "any", 7))
    assert second.expected < alive - first.expected + 1e-9
