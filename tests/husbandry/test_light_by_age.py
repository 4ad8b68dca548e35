"""Hours of light by age, and the lamps that make them."""

from datetime import UTC, date, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry.growth import FEMALE, MALE
from farm.husbandry.light.lamps import Place, lamp, timer
from farm.husbandry.light.programme import Lit, natural_hours, notes, wanted_hours
from farm.husbandry.light.sun import sun_times
from farm.trade.load import programmes

BROWN = programmes()["chicken_layer_brown"]
HATCHED = date(2026, 3, 1)
BERLIN = Place(13.4, ZoneInfo("Europe/Berlin"))
LAYERS = st.sampled_from(["chicken_layer_white", "chicken_layer_brown", "chicken_dual"])
PULLETS = st.builds(
    lambda key, hatched, latitude, closed, start: Lit(
        programmes()[key], FEMALE, hatched, latitude, closed, start
    ),
    LAYERS,
    st.dates(date(2024, 1, 1), date(2026, 12, 31)),
    st.floats(-60, 60),
    st.booleans(),
    st.none() | st.integers(0, 250),
)
OTHERS = st.sampled_from([key for key in sorted(programmes()) if not key.startswith("chicken_l")])


def lit(key="chicken_layer_brown", latitude=50.0, closed=False, sex=FEMALE, hatched=HATCHED, start=None):
    return Lit(programmes()[key], sex, hatched, latitude, closed, start)


@settings(max_examples=30, deadline=None)
@given(PULLETS)
def test_pullets_days_only_shorten_until_lay_and_then_only_lengthen(pullets):
    hours = wanted_hours(pullets, 300)
    turn = pullets.lengthen_day
    assert (np.diff(hours[:turn]) <= 1e-9).all()
    assert (np.diff(hours[turn - 1 :]) >= -1e-9).all()
    assert turn >= 98


@settings(max_examples=30, deadline=None)
@given(PULLETS)
def test_an_open_house_never_wants_less_than_the_sun_gives_up_to_sixteen_hours(pullets):
    hours, natural = wanted_hours(pullets, 300), natural_hours(pullets, 300)
    if not pullets.closed:
        assert (hours >= np.minimum(natural, 16) - 1e-9).all()
        assert (hours[: pullets.lengthen_day] >= natural[: pullets.lengthen_day] - 1e-9).all()
    assert hours.max() <= 22
    assert hours[pullets.lengthen_day :].max() <= max(16, hours[pullets.lengthen_day - 1]) + 1e-9


@settings(max_examples=40, deadline=None)
@given(PULLETS)
def test_light_is_lengthened_by_no_more_than_half_an_hour_a_week_in_a_closed_house(pullets):
    if pullets.closed:
        hours = wanted_hours(pullets, 300)
        assert np.diff(hours).max() <= 0.5 + 1e-9
        assert (hours[7:] - hours[:-7]).max() <= 0.5 + 1e-9


@settings(max_examples=40, deadline=None)
@given(PULLETS, st.integers(1, 299))
def test_what_is_wanted_on_a_day_does_not_hang_on_how_far_one_looks(pullets, days):
    np.testing.assert_allclose(wanted_hours(pullets, days), wanted_hours(pullets, 300)[:days])


def test_a_closed_house_goes_from_twenty_two_hours_to_ten_by_eight_weeks():
    hours = wanted_hours(lit(closed=True), 133)
    assert (hours[0], hours[6], hours[7], hours[55], hours[56], hours[132]) == (22, 22, 20.5, 11.5, 10, 10)


def test_pullets_hatched_in_march_are_kept_at_the_longest_day_ahead_of_them():
    hours = wanted_hours(lit(), 133)
    assert hours[60:].tolist() == pytest.approx([hours[60]] * 73)
    assert hours[60] == pytest.approx(natural_hours(lit(), 133)[56:].max())


def test_hens_that_saw_sixteen_hours_in_june_keep_them_when_the_natural_day_falls():
    hens = lit(latitude=54.0, hatched=date(2025, 9, 15))
    hours, natural = wanted_hours(hens, 420), natural_hours(hens, 420)
    assert natural[300] > 16 > natural[400]
    assert hours[400] == hours[300] == 16
    assert hours[250] > hours[133]


@pytest.mark.parametrize("latitude", [-60, -50, -30, 0, 40, 60])
def test_chicks_of_any_hatch_day_never_see_a_natural_day_longer_than_their_lamps_give(latitude):
    for month in range(1, 13):
        chicks = lit(latitude=latitude, hatched=date(2026, month, 7))
        short = natural_hours(chicks, 133) - wanted_hours(chicks, 133)
        assert short.max() <= 1e-9, month


def test_the_day_is_lengthened_when_the_keeper_finds_them_at_weight_but_never_before_fourteen_weeks():
    assert lit().lengthen_day == 133
    assert lit("chicken_layer_white").lengthen_day == 126
    assert lit(start=150).lengthen_day == 150
    assert lit(start=60).lengthen_day == 98


def test_cockerels_and_birds_for_meat_are_not_lit_to_lay():
    assert lit(sex=MALE).lengthen_day is None
    assert lit("chicken_meat").lengthen_day is None
    assert lit("quail_layer").lengthen_day is None


@settings(max_examples=30, deadline=None)
@given(OTHERS, st.floats(-60, 60), st.booleans())
def test_other_birds_have_long_first_days_and_then_the_suns(key, latitude, closed):
    birds = lit(key, latitude, closed)
    if birds.lays:
        return
    hours, natural = wanted_hours(birds, 60), natural_hours(birds, 60)
    first = 17 if birds.programme.species == "turkey" else 18
    assert (hours[:7] == (first if closed else np.maximum(first, natural[:7]))).all()
    later = np.full(53, 14.0) if birds.programme.species == "turkey" else np.minimum(natural[7:], 18)
    assert hours[7:].tolist() == (later if closed else np.maximum(later, natural[7:])).tolist()


def said(birds, age):
    return [str(note) for note in notes(birds, age)]


def test_six_hours_of_dark_are_asked_for_where_a_summer_night_is_too_short():
    may = date(2026, 5, 20)
    assert said(lit("duck", 59.0, hatched=may), 30) == ["Shade the windows: they need 6 hours of dark."]
    assert said(lit("duck", 59.0, closed=True, hatched=may), 30) == []
    assert said(lit("duck", 50.0, hatched=may), 30) == []
    assert said(lit(latitude=59.0, hatched=may), 30) == []


def test_before_days_are_lengthened_weight_is_asked_for():
    (note,) = said(lit(), 125)
    assert note.startswith("Lengthen the day only once they are at weight")
    assert said(lit(), 100) == said(lit(), 134) == []


def test_beyond_sixty_degrees_there_is_no_ready_made_programme():
    assert wanted_hours(lit(latitude=60.1), 10) is None
    assert timer(lit(latitude=-61), BERLIN, 0, 10) is None
    assert wanted_hours(lit(latitude=60), 10) is not None
    assert said(lit(latitude=-61), 5)[0].startswith("So far north or south")


@settings(max_examples=40, deadline=None)
@given(PULLETS, st.integers(0, 399))
def test_lamp_and_sun_together_make_the_hours_wanted(pullets, age):
    day = pullets.hatch_day + timedelta(days=age)
    hours = float(wanted_hours(pullets, age + 1)[age])
    found = lamp(pullets, BERLIN, day, hours)
    sun = sun_times(pullets.latitude, BERLIN.longitude, day, BERLIN.zone)
    if pullets.closed:
        length = found.off.astimezone(UTC) - found.on.astimezone(UTC)
    elif found is None:
        assert hours <= sun.hours + 1 / 60
        return
    else:
        assert found.off == sun.rises
        length = sun.sets.astimezone(UTC) - found.on.astimezone(UTC)
    assert length / timedelta(hours=1) == pytest.approx(hours, abs=1e-3)


@settings(max_examples=25, deadline=None)
@given(PULLETS, st.integers(0, 200))
def test_timer_settings_follow_each_other_and_leave_no_day_short(pullets, from_age):
    found = timer(pullets, BERLIN, from_age, from_age + 60)
    assert found[0].first_day == pullets.hatch_day + timedelta(days=from_age)
    assert found[-1].last_day == pullets.hatch_day + timedelta(days=from_age + 59)
    hours = wanted_hours(pullets, from_age + 60)
    for before, after in pairwise(found):
        assert after.first_day == before.last_day + timedelta(days=1)
    for each in found:
        day = each.first_day
        while day <= each.last_day:
            exact = lamp(pullets, BERLIN, day, float(hours[(day - pullets.hatch_day).days]))
            if exact is not None:
                slack = timedelta(
                    hours=exact.on.hour - each.on.hour, minutes=exact.on.minute - each.on.minute
                )
                assert timedelta() <= slack % timedelta(days=1) < timedelta(hours=2)
            day += timedelta(days=1)


def test_a_timer_is_set_anew_when_the_clocks_change():
    found = timer(lit(latitude=52.5, hatched=date(2026, 3, 4)), BERLIN, 210, 250)
    before, after = next((b, a) for b, a in pairwise(found) if a.first_day == date(2026, 10, 25))
    assert (before.first_day, before.last_day) == (date(2026, 10, 21), date(2026, 10, 24))
    assert after.last_day == date(2026, 10, 27)
    earlier = timedelta(hours=before.on.hour - after.on.hour, minutes=before.on.minute - after.on.minute)
    assert timedelta(minutes=60) <= earlier % timedelta(days=1) < timedelta(minutes=80)


def test_a_setting_reads_as_one_says_it():
    closed = timer(lit(closed=True), BERLIN, 70, 71)[0]
    assert (closed.on, closed.off) == (time(10), time(20))
    assert str(closed.words) == "Lamps on at 10:00, off at 20:00: 10 h 0 min of light"
    summer = timer(lit("duck"), BERLIN, 100, 101)[0]
    assert summer.on is None
    assert str(summer.words).startswith("No lamps: the sun gives 16 h")


@pytest.mark.parametrize("ages", [(-1, 5), (5, 5), (9, 3)])
def test_days_that_are_none_are_refused(ages):
    with pytest.raises(ValueError, match="needs days"):
        timer(lit(), BERLIN, *ages)


def test_a_latitude_that_is_not_on_earth_is_refused():
    with pytest.raises(ValueError, match="latitude"):
        lit(latitude=95)
