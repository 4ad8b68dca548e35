"""From setting to the first feed: dates, climate, storage, what hatches."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import incubation
from farm.trade.eggs import egg_kind
from farm.trade.load import programmes
from farm.trade.programme import OWN, SPECIES, Rule

SET = date(2026, 3, 1)
HATCHED = datetime(2026, 3, 22, 6, tzinfo=UTC)
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)
kinds = st.sampled_from(sorted(programmes()))


def lasting(key, days):
    """A farm's own copy of a programme that hatches after so many days."""
    programme = programmes()[key]
    return replace(programme, rules={**programme.rules, "incubation_days": Rule(days, OWN)})


@pytest.mark.parametrize(
    "key, days, lockdown",
    [
        ("chicken_meat", 21, 18),
        ("turkey_large", 28, 25),
        ("duck", 28, 25),
        ("duck_muscovy", 35, 32),
        ("goose", 30, 27),
        ("quail_layer", 17, 14),
        ("guinea", 27, 24),
        ("pheasant", 24, 21),
    ],
)
def test_eggs_hatch_and_lock_down_on_their_species_days(key, days, lockdown):
    found = incubation.incubation(programmes()[key], SET)
    assert (found.hatch_day - SET).days == incubation.hatch_after_days(programmes()[key]) == days
    assert (found.lockdown - SET).days == incubation.lockdown_after_days(programmes()[key]) == lockdown


def test_the_days_of_hens_eggs_set_on_1_march():
    found = incubation.incubation(programmes()["chicken_dual"], SET)
    assert found == incubation.Incubation(
        set_on=SET,
        candlings=(date(2026, 3, 8), date(2026, 3, 15), date(2026, 3, 19)),
        turn_from=date(2026, 3, 3),
        lockdown=date(2026, 3, 19),
        hatch_first=date(2026, 3, 21),
        hatch_day=date(2026, 3, 22),
        hatch_last=date(2026, 3, 23),
        out_latest=date(2026, 3, 24),
    )


def test_quail_eggs_are_not_candled_twice_on_lockdown():
    found = incubation.incubation(programmes()["quail_layer"], SET)
    assert found.candlings == (date(2026, 3, 8), found.lockdown)


@given(kinds, st.integers(14, 40), st.dates(date(2000, 1, 1), date(2100, 1, 1)))
def test_the_days_follow_one_another_whatever_a_farms_own_programme_says(key, days, set_on):
    found = incubation.incubation(lasting(key, days), set_on)
    assert found.set_on < found.turn_from < found.lockdown < found.hatch_first
    assert found.hatch_first <= found.hatch_day <= found.hatch_last <= found.out_latest
    assert found.out_latest - found.hatch_day >= timedelta(days=2)
    assert list(found.candlings) == sorted(set(found.candlings))
    assert found.candlings[-1] == found.lockdown
    assert found.hatch_day - set_on == timedelta(days=days)


@given(kinds, st.dates(date(2000, 1, 1), date(2100, 1, 1)))
def test_setting_for_a_hatch_day_hatches_on_it(key, hatch_day):
    programme = programmes()[key]
    set_on = incubation.set_on_for(programme, hatch_day)
    assert incubation.incubation(programme, set_on).hatch_day == hatch_day


@each_programme
def test_a_built_in_programme_hatches_inside_its_species_known_days(programme):
    kind = egg_kind(programme.species)
    days = incubation.hatch_after_days(programme)
    assert kind.hatch_first_day <= days <= kind.hatch_last_day


def test_a_fan_or_none_makes_a_degree_of_difference_at_the_thermometer():
    assert incubation.climate("chicken", "forced", False).temp_c == 37.8
    assert incubation.climate("chicken", "still", False).temp_c == 38.9


@pytest.mark.parametrize("air", ["forced", "still"])
@pytest.mark.parametrize("species", SPECIES)
def test_hatching_eggs_are_kept_cooler_damper_and_unturned(species, air):
    turned = incubation.climate(species, air, False)
    hatching = incubation.climate(species, air, True)
    assert turned.temp_c - hatching.temp_c == pytest.approx(0.6)
    assert hatching.rh > turned.rh
    assert (turned.turns_a_day, hatching.turns_a_day) == (3, 0)
    for found in (turned, hatching):
        assert found.low_c < found.temp_c < found.high_c
        assert found.rh_low < found.rh < found.rh_high


def test_waterfowl_are_kept_damper_by_five_points_throughout():
    hen, goose = (incubation.climate(species, "forced", True) for species in ("chicken", "goose"))
    assert (goose.rh - hen.rh, goose.rh_low - hen.rh_low, goose.rh_high - hen.rh_high) == (5, 5, 5)
    assert goose.temp_c == hen.temp_c


def test_air_that_is_neither_forced_nor_still_is_refused():
    with pytest.raises(ValueError, match="forced or still"):
        incubation.climate("chicken", "hot", False)


@pytest.mark.parametrize("stored, rate", [(0, 0.70), (7, 0.70), (8, 0.69), (14, 0.63)])
def test_hens_eggs_lose_a_hundredth_for_each_day_stored_beyond_a_week(stored, rate):
    assert incubation.hatch_rate("chicken", stored) == pytest.approx(rate)


@given(st.sampled_from(SPECIES), st.integers(0, 400))
def test_longer_storage_never_hatches_more_and_never_less_than_nothing(species, stored):
    now, later = (incubation.hatch_rate(species, days) for days in (stored, stored + 1))
    assert 0 <= later <= now <= 1


@pytest.mark.parametrize(
    "species, stored, verdict",
    [
        ("chicken", 7, "fine"),
        ("chicken", 8, "late"),
        ("chicken", 14, "late"),
        ("chicken", 15, "refused"),
        ("quail", 10, "late"),
        ("quail", 11, "refused"),
    ],
)
def test_storage_is_fine_then_late_then_refused(species, stored, verdict):
    assert incubation.storage(species, stored) == verdict


def test_posted_chicks_drink_on_arrival_and_eat_within_three_days_of_the_hatch():
    arrived = HATCHED + timedelta(hours=40)
    meal = incubation.first_meal(HATCHED, arrived)
    assert meal == incubation.FirstMeal(arrived, datetime(2026, 3, 25, 6, tzinfo=UTC), late=False)


@pytest.mark.parametrize("hours, late", [(72, False), (72.5, True)])
def test_chicks_that_come_after_three_days_are_late_for_their_feed(hours, late):
    assert incubation.first_meal(HATCHED, HATCHED + timedelta(hours=hours)).late is late


def test_chicks_do_not_arrive_before_they_hatch():
    with pytest.raises(ValueError, match="after their hatch"):
        incubation.first_meal(HATCHED, HATCHED - timedelta(minutes=1))
