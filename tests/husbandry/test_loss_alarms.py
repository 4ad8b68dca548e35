"""Loss alarms: how often they cry wolf over a whole rearing, that they see real trouble, and that they cry once."""

from datetime import date
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry import cohorts, survival
from farm.husbandry.advice import losses
from farm.husbandry.advice.alarms import CAUTIONS, ON_ONE_DAY, SO_FAR, WORSE, alarms
from farm.trade.cautions import cautions
from farm.trade.load import programmes

BROWN = programmes()["chicken_layer_brown"]


@cache
def chart(birds=100, days=120, first_age=0, key="chicken_layer_brown"):
    return losses.chart(programmes()[key], first_age, [birds] * days)


def drawn(rng, found, times=1.0, batches=1):
    """Return losses by (batch, day) of invented batches that die `times` as often as their programme says."""
    alive = np.full(batches, found.base[0])
    lost = np.zeros((batches, len(found.base)), dtype=int)
    for day, chance in enumerate(found.chances):
        lost[:, day] = rng.binomial(alive, min(times * chance, 1))
        alive = alive - lost[:, day]
    return lost


@pytest.mark.parametrize("birds", [12, 40, 100, 400])
def test_ordinary_batches_are_cried_over_in_no_more_than_the_stated_share_of_rearings(birds):
    found, rng = chart(birds), np.random.default_rng(birds)
    cried = np.mean([bool(alarms(found, lost)) for lost in drawn(rng, found, batches=2000).tolist()])
    assert found.false_alarms <= 0.05
    assert cried == pytest.approx(found.false_alarms, abs=0.018)


def test_the_stated_share_is_not_left_unused():
    assert chart(100).false_alarms > 0.03
    assert losses.chart(BROWN, 0, [100] * 120, false_alarms=0.01).false_alarms <= 0.01


def test_three_birds_and_two_days_by_counting_every_outcome():
    found = losses.chart(BROWN, 0, [3, 3], false_alarms=0.0002)
    first, second = found.chances
    chance = 0.0
    for early in range(4):
        for late in range(4 - early):
            ways = {0: 1, 1: 3, 2: 3, 3: 1}[early] * _choose(3 - early, late)
            p = (
                ways
                * first**early
                * (1 - first) ** (3 - early)
                * second**late
                * (1 - second) ** (3 - early - late)
            )
            chance += p if alarms(found, [early, late]) else 0
    assert found.false_alarms == pytest.approx(chance, abs=1e-12)


def _choose(n, k):
    return {(0, 0): 1, (1, 0): 1, (1, 1): 1, (2, 0): 1, (2, 1): 2, (2, 2): 1}.get(
        (n, k), 1 if k in (0, n) else 3
    )


@pytest.mark.parametrize("day", [0, 6, 30, 119])
def test_the_limits_of_a_day_are_those_of_the_whole_count(day):
    found = chart(100)
    lost = float(1 - survival.surviving_share(BROWN, day + 1))
    _low, expected, high = cohorts.loss_limits([(100, lost)], false_alarms=2 * found.tail)
    assert found.most[day] == high
    assert found.expected[day] == pytest.approx(expected)


@pytest.mark.parametrize("times, least", [(3, 0.85), (5, 0.99)])
def test_batches_that_die_far_too_often_are_nearly_always_seen(times, least):
    found, rng = chart(100), np.random.default_rng(3)
    seen = [bool(alarms(found, lost)) for lost in drawn(rng, found, times, 200).tolist()]
    assert np.mean(seen) > least


def test_many_dead_on_one_day_late_in_life_are_seen_that_day():
    lost = [0] * 120
    lost[80] = 5
    (alarm,) = alarms(chart(100), lost)
    assert (alarm.age_days, alarm.kind, alarm.lost) == (80, ON_ONE_DAY, 5)


def test_an_outbreak_cries_as_losses_double_and_not_daily():
    told = alarms(chart(400), [20] * 12)
    assert [(a.age_days, a.kind) for a in told] == [(0, SO_FAR), (1, WORSE), (3, WORSE), (7, WORSE)]
    assert (told[-1].lost, told[-1].lost_so_far) == (80, 160)


def test_after_a_quiet_week_a_bad_day_cries_anew_though_all_losses_stay_far_too_many():
    lost = [20, 20, 15, 0, 0, 0, 1, 0, 0, 1] + [0] * 20 + [12] + [0] * 5
    told = alarms(chart(400), lost)
    assert [(a.age_days, a.kind) for a in told] == [(0, SO_FAR), (1, WORSE), (30, ON_ONE_DAY)]


def test_after_a_quiet_week_slow_dying_is_told_of_too():
    lost = [20] + [0] * 20 + [1, 0] * 20
    told = alarms(chart(100), lost)
    assert [a.kind for a in told][:2] == [SO_FAR, WORSE]
    assert len(told) == 2


def test_staying_above_the_limit_is_one_alarm_and_not_one_a_day():
    lost = [12] + [0] * 10
    assert [a.age_days for a in alarms(chart(100), lost)] == [0]


def test_after_losses_so_far_are_ordinary_again_the_whole_count_is_held_against_its_limit_anew():
    found = chart(100)
    back = next(day for day in range(1, 119) if found.calm[day] >= 6)
    told = alarms(found, [6] + [0] * back + [1] * 20)
    assert [a.kind for a in told][:2] == [SO_FAR, SO_FAR]
    assert told[1].usual == found.most[told[1].age_days]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from([0, 0, 0, 0, 1, 1, 2, 5]), min_size=1, max_size=60))
def test_alarms_never_come_twice_a_day_nor_change_with_what_happens_later(lost):
    found = chart(100)
    told = alarms(found, lost)
    assert len({alarm.age_days for alarm in told}) == len(told)
    for cut in range(1, len(lost), 7):
        assert alarms(found, lost[:cut]) == tuple(a for a in told if a.age_days < cut)
    for alarm in told:
        assert alarm.lost > alarm.usual
        assert alarm.lost_so_far == sum(lost[: alarm.age_days + 1])


def test_a_hovering_count_does_not_cry_at_every_bird():
    """A batch that gains on its limit and falls a bird behind by turns: one excursion, not five."""
    found = chart(1000)
    lost = np.diff([0, *(found.most[:60] + np.arange(60) % 2)])
    told = alarms(found, np.maximum(lost, 0).tolist())
    assert len([a for a in told if a.kind != WORSE]) == 1


def test_birds_that_came_later_and_birds_sold_change_what_is_ordinary():
    base = [50] * 10 + [100] * 50 + [20] * 60
    found = losses.chart(BROWN, 0, base)
    assert found.false_alarms <= 0.05
    assert found.expected[59] > chart(50).expected[59]
    late = [0] * 120
    late[100] = 2
    assert [a.kind for a in alarms(found, late)] in ([ON_ONE_DAY], [])
    assert found.most_a_day[100] <= chart(100).most_a_day[100]


def test_nobody_is_alarmed_by_one_dead_bird():
    for birds in (1, 2, 5, 20):
        assert alarms(chart(birds), [1]) == ()


def test_a_batch_bought_grown_is_charted_from_the_day_it_came():
    found = chart(60, 50, first_age=70)
    assert found.first_age == 70
    assert found.expected[0] == pytest.approx(60 * survival_chance(70))
    assert alarms(found, [0, 0, 4])[0].age_days == 72


def survival_chance(age):
    return 1 - float(survival.surviving_share(BROWN, age + 1) / survival.surviving_share(BROWN, age))


def test_a_batch_without_birds_is_never_cried_over():
    found = chart(0)
    assert found.false_alarms == 0
    assert alarms(found, [0] * 120) == ()


def test_every_alarm_says_what_to_do_and_sends_to_the_vet():
    found = chart(100)
    (first, *_), late = alarms(found, [12, 6, 6]), alarms(found, [12, 12])[-1]
    (sudden,) = alarms(found, [0] * 80 + [5])
    assert str(first.words(date(2026, 4, 1))).startswith("12 of 100 lost by 1 April; up to 3 is ordinary")
    assert late.kind == WORSE
    for alarm in (first, late, sudden):
        assert "vet" in str(alarm.words(date(2026, 4, 1)))
    assert set(CAUTIONS) <= set(cautions())


@pytest.mark.parametrize("base, share", [([], 0.05), ([-1], 0.05), ([5], 0), ([5], 1), ([5], float("nan"))])
def test_charts_of_nothing_are_refused(base, share):
    with pytest.raises(ValueError, match="needs days"):
        losses.chart(BROWN, 0, base, share)


@pytest.mark.parametrize("lost", [[0] * 121, [-1]])
def test_losses_that_cannot_be_are_refused(lost):
    with pytest.raises(ValueError, match="longer than the chart"):
        alarms(chart(100), lost)
