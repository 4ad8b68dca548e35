"""The first night and day out of doors: feathered, warm enough for a week, and why not sooner, in words."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry import going_out, out_words, outdoors
from farm.husbandry.climate import Climate, MonthlyClimate
from farm.husbandry.going_out import Night, Shelter, first_night_out, nights
from farm.husbandry.outlook import Forecast, Outlook
from farm.trade.load import programmes

BROWN, DUCK, QUAIL = (programmes()[key] for key in ("chicken_layer_brown", "duck", "quail_layer"))
DAY = timedelta(days=1)
OPEN = Shelter.usual(indoor=False, heated=False)
LOWS = (0.9, 2.1, 5.4, 9.3, 14.4, 18.7, 20.6, 20.2, 16.9, 10.5, 5.1, 2.2)
HIGHS = (11.8, 14.0, 18.2, 22.9, 26.9, 30.8, 32.6, 31.9, 28.8, 23.3, 17.6, 13.0)
PLACE = Climate(MonthlyClimate(LOWS, (4.0,) * 12, HIGHS, (5.0,) * 12))


def even(low, sd=0.0, high=None):
    """Return a place whose nights are alike all year."""
    highs = (low + 10 if high is None else high,) * 12
    return Outlook(Climate(MonthlyClimate((low,) * 12, (sd,) * 12, highs, (sd,) * 12)))


places = st.builds(
    lambda mean, swing, sd: Outlook(
        Climate(
            MonthlyClimate(
                tuple(mean - swing * (1 - abs(month - 6) / 3) * -1 for month in range(12)),
                (sd,) * 12,
                (45.0,) * 12,
                (sd,) * 12,
            )
        )
    ),
    st.floats(-12, 25),
    st.floats(0, 12),
    st.floats(0, 8),
)
hatches = st.dates(date(2024, 1, 1), date(2027, 12, 31))
each = st.sampled_from(sorted(programmes().values(), key=lambda programme: programme.key))


def test_in_a_warm_place_age_alone_decides():
    answer = first_night_out(BROWN, date(2026, 3, 1), even(25), OPEN)
    assert answer.day == date(2026, 3, 1) + 42 * DAY
    assert answer.last_cold is None
    assert answer.ready.age_days == 42


def test_a_night_is_as_cold_as_the_morning_after_it():
    hatch = date(2026, 3, 1)
    ready = hatch + 42 * DAY
    frost = Forecast(ready - DAY, {ready: -30.0, ready + DAY: 25.0})
    outlook = Outlook(even(25, 6).climate, frost)
    before, night = nights(BROWN, hatch, outlook, OPEN, [ready - DAY, ready])
    assert before.chance < 0.01
    assert night.chance > 0.99


def test_a_forecast_of_frost_puts_the_night_off_and_names_it():
    hatch = date(2026, 3, 1)
    ready = hatch + 42 * DAY
    usual = even(25, 6).climate
    answer = first_night_out(BROWN, hatch, Outlook(usual, Forecast(ready, {ready + 4 * DAY: 2.0})), OPEN)
    assert answer.day == ready + 4 * DAY
    assert answer.last_cold.day == ready + 3 * DAY


def test_birds_stay_in_where_it_never_is_warm_enough():
    answer = first_night_out(BROWN, date(2026, 3, 1), even(-20), OPEN)
    assert answer.day is None
    assert answer.last_cold.day == answer.ready.day + (going_out.SEARCH_DAYS + 6) * DAY


def test_older_birds_bear_colder_nights():
    """At 8 °C, a chicken of six weeks waits until seven, which bears 5."""
    hatch = date(2026, 3, 1)
    assert first_night_out(BROWN, hatch, even(8), OPEN).day == hatch + 49 * DAY
    assert first_night_out(BROWN, hatch, even(8), Shelter(True, 2.0)).day == hatch + 42 * DAY


@settings(max_examples=60, deadline=None)
@given(programme=each, hatch=hatches, outlook=places, warmer=st.floats(0, 12), sure=st.floats(0.5, 0.999))
def test_the_answer_is_the_first_that_keeps_its_promise(programme, hatch, outlook, warmer, sure):
    """Each night of the week is warm enough from that day on, and no day before it has such a week."""
    shelter = Shelter(True, warmer)
    answer = first_night_out(programme, hatch, outlook, shelter, confidence=sure)
    start = hatch + outdoors.nights_out_age(programme) * DAY
    last = answer.day or start + going_out.SEARCH_DAYS * DAY

    def week_holds(day):
        week = nights(programme, hatch, outlook, shelter, [day + i * DAY for i in range(7)])
        return all(night.chance >= sure for night in week)

    assert answer.day is None or (answer.day >= start and week_holds(answer.day))
    earlier = [start + i * DAY for i in range((last - start).days)]
    assert not any(week_holds(day) for day in earlier[::5] + earlier[-3:])
    assert (answer.last_cold is None) == (answer.day == start)
    if answer.last_cold:
        assert answer.coldest.chance <= answer.last_cold.chance < sure
        assert answer.day is None or answer.last_cold.day == answer.day - DAY


@settings(max_examples=40, deadline=None)
@given(programme=each, hatch=hatches, outlook=places, warmer=st.floats(0, 6), more=st.floats(0, 6))
def test_a_warmer_shelter_never_puts_the_night_off(programme, hatch, outlook, warmer, more):
    plain = first_night_out(programme, hatch, outlook, Shelter(True, warmer)).day
    better = first_night_out(programme, hatch, outlook, Shelter(True, warmer + more)).day
    assert plain is None or (better is not None and better <= plain)


@settings(max_examples=40, deadline=None)
@given(programme=each, hatch=hatches, outlook=places, sure=st.floats(0.5, 0.9), more=st.floats(0, 0.099))
def test_who_asks_to_be_surer_never_goes_sooner(programme, hatch, outlook, sure, more):
    bold = first_night_out(programme, hatch, outlook, OPEN, confidence=sure).day
    careful = first_night_out(programme, hatch, outlook, OPEN, confidence=sure + more).day
    assert careful is None or (bold is not None and bold <= careful)


def test_no_night_is_in_the_past():
    hatch, today = date(2026, 3, 1), date(2026, 6, 20)
    answer = first_night_out(BROWN, hatch, even(25), OPEN, not_before=today)
    assert answer.day == answer.ready.day == today
    assert first_night_out(BROWN, hatch, even(25), OPEN, not_before=hatch).day == hatch + 42 * DAY


@pytest.mark.parametrize("sure", [0.49, 1, float("nan")])
def test_a_confidence_out_of_bounds_is_refused(sure):
    with pytest.raises(ValueError, match="confidence"):
        first_night_out(BROWN, date(2026, 3, 1), even(25), OPEN, confidence=sure)
    with pytest.raises(ValueError, match="confidence"):
        going_out.first_day_out(BROWN, date(2026, 3, 1), even(25), confidence=sure)


@pytest.mark.parametrize("supplement", [-0.1, 25.1, float("nan")])
def test_a_shelter_out_of_bounds_is_refused(supplement):
    with pytest.raises(ValueError, match="supplement"):
        Shelter(True, supplement)


def test_a_night_before_the_hatch_is_refused():
    with pytest.raises(ValueError, match="before the hatch"):
        nights(BROWN, date(2026, 3, 1), even(25), OPEN, [date(2026, 2, 28)])


def test_the_usual_shelters_are_warmer_the_more_there_is_of_them():
    coop, heated = Shelter.usual(indoor=True, heated=False), Shelter.usual(indoor=True, heated=True)
    assert 0 == OPEN.supplement_c < coop.supplement_c < heated.supplement_c
    assert (OPEN.indoor, coop.indoor, heated.indoor) == (False, True, True)
    assert Shelter.usual(indoor=False, heated=True) == OPEN  # a lamp warms no paddock


def test_a_warm_afternoon_lets_them_out_by_day_sooner():
    hatch = date(2026, 3, 1)
    warm, cool = even(5, high=22.0), even(5, high=20.0)
    early = going_out.first_day_out(BROWN, hatch, warm)
    assert (early.age_days, early.day, early.warm) == (21, hatch + 21 * DAY, True)
    late = going_out.first_day_out(BROWN, hatch, cool)
    assert (late.age_days, late.warm, late.chance) == (28, False, 0)
    assert going_out.first_day_out(DUCK, hatch, warm).age_days == 21
    assert not going_out.first_day_out(DUCK, hatch, warm).warm


def test_days_out_wait_for_the_first_afternoon_likely_to_be_warm():
    hatch = date(2026, 3, 1)
    warm_on = hatch + 24 * DAY
    outlook = Outlook(even(5, 4, high=15.0).climate, Forecast(warm_on - 2 * DAY, {}, {warm_on: 26.0}))
    answer = going_out.first_day_out(BROWN, hatch, outlook)
    assert (answer.day, answer.warm) == (warm_on, True)
    assert 0.9 <= answer.chance < 1


def test_why_is_said_in_full():
    answer = first_night_out(BROWN, date(2026, 3, 22), Outlook(PLACE), OPEN)
    assert str(out_words.explain(answer)) == (
        f"6 weeks old on 3 May, but until {answer.last_cold.day.day} May nights may be too cold for them:"
        f" 1 night in 4 around 3 May is below 10 °C outside. From {answer.day.day} May on each of the next 7 nights"
        " is warm enough with a chance of 90 % or more."
    )


def test_age_alone_is_said_as_such():
    answer = first_night_out(QUAIL, date(2026, 6, 1), even(28), OPEN, confidence=0.999)
    assert str(out_words.explain(answer)).startswith("5 weeks old on 6 July, and each of the next 7 nights")
    assert "99 % or more" in str(out_words.explain(answer))  # never rounded up to certainty


def test_never_is_said_as_such():
    answer = first_night_out(BROWN, date(2026, 3, 1), even(-20), OPEN)
    text = str(out_words.explain(answer))
    assert "within a year no 7 nights on end are warm enough" in text
    assert "nearly every night around 12 April is below 10 °C outside" in text
    assert str(out_words.with_shelter(answer)) == "0 °C warmer at night than outside: not within a year."


def test_another_shelter_is_set_beside_it():
    heated = Shelter.usual(indoor=True, heated=True)
    answer = first_night_out(BROWN, date(2026, 3, 22), Outlook(PLACE), heated)
    assert str(out_words.with_shelter(answer)) == "10 °C warmer at night than outside: 3 May."


@pytest.mark.parametrize(
    "chance, words",
    [
        (0.0, "nearly every night around 3 May is below 8 °C outside"),
        (0.05, "nearly every night"),
        (0.06, "9 nights in 10 around 3 May are below 8 °C outside"),
        (0.5, "5 nights in 10"),
        (0.51, "1 night in 2 around 3 May is below 8 °C outside"),
        (0.75, "1 night in 4"),
        (0.89, "1 night in 9"),
        (0.99, "1 night in 100"),
        (0.991, "fewer than 1 night in 100"),
    ],
)
def test_chances_are_said_as_people_count(chance, words):
    assert str(out_words.odds(Night(date(2026, 5, 3), 42, 10.0, 8.0, chance))).startswith(words)


def test_days_out_are_explained_by_what_they_rest_on():
    hatch = date(2026, 3, 1)
    late = out_words.explain_day(going_out.first_day_out(BROWN, hatch, even(5, high=20.0)))
    assert str(late) == "Out by day from 29 March, 4 weeks old, when it is dry and they are out of the wind."
    warm = going_out.first_day_out(BROWN, hatch, even(5, high=22.0))
    assert str(out_words.explain_day(replace(warm, day=warm.day + DAY, age_days=22, chance=0.9))) == (
        "Out by day from 23 March, 22 days old, if that afternoon has 21 °C or more: the chance is 90 %."
    )


def test_the_caution_sends_the_keeper_to_the_birds():
    assert "no official table" in str(out_words.CAUTION)
    assert "Look at the birds" in str(out_words.CAUTION)
