"""The climate is entered, learned and forgotten; what is wrong is said where it is wrong, and nothing half-saved."""

from datetime import date, timedelta

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.husbandry.day_law import NORMAL
from farm.husbandry.weather_record import Answers
from farm.models import HistoryEntry, Weather
from farm.queries import weather as read
from farm.services import history, weather
from tests.conftest import TODAY
from tests.farm.weather_world import HIGHS, LOWS, months, settle


def record(years=2, first=date(2020, 1, 1), low="{low:.1f}", row="{day},{low:.1f},{high:.1f}"):
    """An invented record: the months' means, each day a little off in turn."""
    lines = ["day,low C,high C"]
    for offset in range(365 * years + 1):
        day = first + timedelta(days=offset)
        off = (offset * 7 % 13 - 6) / 2
        lines.append(row.format(day=day, low=LOWS[day.month - 1] + off, high=HIGHS[day.month - 1] + off))
    return "\n".join(lines)


def test_what_is_entered_is_what_the_pure_parts_read(world):
    assert read.of(world.farm) is None
    settle(world)
    climate = read.outlook(world.farm).climate
    assert climate.monthly.low_mean_c == tuple(LOWS)
    assert (climate.low_shape, read.of(world.farm).confidence) == (NORMAL, 0.9)


def test_wrong_months_are_said_at_their_fields_and_nothing_is_saved(world):
    wrong = months(low_mean_c=[*LOWS[:2], 99.0, *LOWS[3:]], high_sd_c=[-1.0, *[4.0] * 11])
    with pytest.raises(BadInput) as refused:
        weather.enter(world.by, months=wrong)
    assert {"low_mean_c_3", "high_sd_c_1"} <= set(refused.value.fields)
    assert not Weather.objects.exists()


def test_a_high_below_its_low_is_refused(world):
    with pytest.raises(BadInput) as refused:
        weather.enter(world.by, months=months(high_mean_c=[-10.0, *HIGHS[1:]]))
    assert list(refused.value.fields) == ["high_mean_c_1"]


def test_only_keepers_change_the_climate(world):
    helper = world.add_member("Cara", "helper")
    for act in (
        lambda: weather.enter(helper, months=months()),
        lambda: weather.learn(helper, text=record()),
        lambda: weather.prefer(helper, expected_version=None, confidence=0.9, use_forecast=False),
        lambda: weather.forget(helper, expected_version=None),
    ):
        with pytest.raises(NotAllowed):
            act()


def test_a_form_opened_before_somebody_elses_change_is_stale(world):
    row = settle(world)
    seen = row.version
    weather.prefer(world.by, expected_version=seen, confidence=0.8, use_forecast=False)
    with pytest.raises(Stale):
        weather.enter(world.by, expected_version=seen, months=months())
    with pytest.raises(Stale):
        weather.forget(world.by, expected_version=seen)
    assert Weather.objects.get().confidence == 0.8


def test_two_good_years_teach_a_climate_without_a_shape(world):
    lesson = weather.learn(world.by, text=record(2))
    row = Weather.objects.get()
    assert (row.learned_years, row.learned_on, row.low_shape) == (2, TODAY, None)
    assert row.low_mean_c == pytest.approx(LOWS, abs=0.5)
    assert not lesson.learned.shaped


def test_six_years_teach_the_shape_too_and_it_is_read_back_as_it_was(world):
    lesson = weather.learn(world.by, text=record(6))
    assert lesson.learned.shaped
    assert read.outlook(world.farm).climate == lesson.learned.climate


def test_an_open_question_saves_nothing_until_it_is_answered(world):
    text = record(row="{day},{high:.1f},{low:.1f}")
    lesson = weather.learn(world.by, text=text)
    assert [question.about for question in lesson.questions] == ["swapped"]
    assert (
        lesson.weather,
        Weather.objects.count(),
        HistoryEntry.objects.filter(verb="learn climate").count(),
    ) == (
        None,
        0,
        0,
    )
    weather.learn(world.by, text=text, answers=Answers(swapped=True))
    assert Weather.objects.get().low_mean_c == pytest.approx(LOWS, abs=0.5)


def test_wrong_rows_are_named_and_many_are_counted(world):
    lines = record().split("\n")
    lines[40:80] = ["2020-02-31,1,2"] * 40
    with pytest.raises(BadInput) as refused:
        weather.learn(world.by, text="\n".join(lines))
    texts = refused.value.fields["text"]
    assert str(texts[0]).startswith("Row 41, day:")
    assert (len(texts), str(texts[-1])) == (21, "… and 20 more rows.")
    assert not Weather.objects.exists()


def test_a_record_with_a_thin_month_says_which(world):
    lines = [line for line in record().split("\n") if "-02-" not in line]
    with pytest.raises(BadInput, match="February"):
        weather.learn(world.by, text="\n".join(lines))


def test_a_farm_without_a_place_cannot_ask_for_a_forecast(world):
    weather.enter(world.by, months=months())
    with pytest.raises(BadInput) as refused:
        weather.prefer(world.by, expected_version=None, confidence=0.9, use_forecast=True)
    assert list(refused.value.fields) == ["use_forecast"]


@pytest.mark.parametrize("confidence", [0.4, 1.0, float("nan")])
def test_a_confidence_that_promises_nothing_or_everything_is_refused(world, confidence):
    settle(world)
    with pytest.raises(BadInput):
        weather.prefer(world.by, expected_version=None, confidence=confidence, use_forecast=False)


def test_choices_without_a_climate_have_nothing_to_change(world):
    with pytest.raises(NotFound):
        weather.prefer(world.by, expected_version=None, confidence=0.9, use_forecast=False)


def test_forgetting_can_be_undone(world):
    row = settle(world)
    weather.forget(world.by, expected_version=row.version)
    assert read.of(world.farm) is None
    history.undo(world.by, entry_id=HistoryEntry.objects.latest("pk").pk)
    assert read.outlook(world.farm).climate.monthly.low_mean_c == tuple(LOWS)


def test_entering_by_month_drops_what_a_record_had_taught_of_shapes(world):
    weather.learn(world.by, text=record(6))
    weather.enter(world.by, months=months())
    row = Weather.objects.get()
    assert (row.low_shape, row.learned_years, row.learned_on) == (None, 0, None)


def test_a_farms_climate_is_its_own(world, elsewhere):
    settle(world)
    assert read.of(elsewhere.farm) is None
    with pytest.raises(NotFound):
        weather.forget(elsewhere.by, expected_version=None)
