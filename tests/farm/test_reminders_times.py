"""Clock times as instants: skipped and repeated times happen exactly once, and quiet hours end."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.models import Farm, ReminderWishes
from farm.services.reminders import times

BERLIN, HALIFAX = ZoneInfo("Europe/Berlin"), ZoneInfo("America/Halifax")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")  # its clocks change by half an hour
ZONES = st.sampled_from([BERLIN, HALIFAX, LORD_HOWE, ZoneInfo("UTC"), ZoneInfo("Pacific/Apia")])
CLOCKS = st.times().map(lambda one: one.replace(second=0, microsecond=0))
DAYS = st.dates(date(2024, 1, 1), date(2034, 12, 31))
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)  # the nights Berlin's clocks change


def quiet(start, end):
    return ReminderWishes(quiet_from=start, quiet_to=end)


def local(instant, zone=BERLIN):
    return instant.astimezone(zone).replace(tzinfo=None)


def test_a_time_the_clocks_skip_comes_once_as_long_after_midnight_as_ever():
    found = times.instant(SPRING, time(2, 30), BERLIN)
    assert found == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert local(found) == datetime(2026, 3, 29, 3, 30)


def test_of_a_time_the_clocks_show_twice_the_first_counts():
    assert times.instant(AUTUMN, time(2, 30), BERLIN) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize("day, hours", [(SPRING, 23), (AUTUMN, 25), (date(2026, 5, 1), 24)])
def test_the_morning_after_such_a_night_keeps_its_clock_time(day, hours):
    before, after = (times.instant(day + timedelta(days=n), time(6, 30), BERLIN) for n in (-1, 0))
    assert after - before == timedelta(hours=hours)
    assert local(after).time() == time(6, 30)


@given(day=DAYS, clock=CLOCKS, zone=ZONES)
def test_each_day_has_each_clock_time_once_and_in_order(day, clock, zone):
    first, second = (times.instant(day + timedelta(days=n), clock, zone) for n in (0, 1))
    assert timedelta(hours=0) < second - first < timedelta(hours=49)
    # Shown by the farm's clock as wished, or moved by what was skipped, which is never more than a day (Apia, 2011).
    assert timedelta() <= local(first, zone) - datetime.combine(day, clock) <= timedelta(hours=1)


@given(day=DAYS, clock=CLOCKS, zone=ZONES, start=CLOCKS, end=CLOCKS)
def test_nothing_is_told_in_the_quiet_hours_nothing_is_lost_and_nothing_waits_longer(
    day, clock, zone, start, end
):
    at = times.instant(day, clock, zone)
    told = times.told_at(quiet(start, end), at, zone)
    assert at <= told <= at + timedelta(hours=25)
    shown = told.astimezone(zone).time()
    inside = (start <= shown < end) if start <= end else (shown >= start or shown < end)
    changes = {(told + timedelta(hours=n)).astimezone(zone).utcoffset() for n in (-3, 0, 3)}
    assert not inside or len(changes) > 1  # only where clocks jump about, an hour may be shown again


NIGHT = {"21:29": "1 21:29", "21:30": "2 06:30", "23:59": "2 06:30", "00:00": "1 06:30", "06:29": "1 06:30"}


@pytest.mark.parametrize("clock, expected", [*NIGHT.items(), ("06:30", "1 06:30")])
def test_a_night_of_quiet_ends_in_its_morning(clock, expected):
    at = times.instant(date(2026, 5, 1), time.fromisoformat(clock), BERLIN)
    assert f"{local(times.told_at(quiet(time(21, 30), time(6, 30)), at, BERLIN)):%-d %H:%M}" == expected


def test_quiet_within_a_day_does_not_touch_the_night():
    rest = quiet(time(13), time(15))
    for clock, expected in (("12:59", "12:59"), ("13:00", "15:00"), ("15:00", "15:00"), ("23:00", "23:00")):
        at = times.instant(date(2026, 5, 1), time.fromisoformat(clock), BERLIN)
        assert f"{local(times.told_at(rest, at, BERLIN)):%H:%M}" == expected


def test_the_hour_that_comes_twice_does_not_send_anything_back_in_time():
    rest = quiet(time(2, 10), time(2, 20))
    second = datetime(2026, 10, 25, 1, 15, tzinfo=UTC)  # 2:15 for the second time
    assert local(second) == datetime(2026, 10, 25, 2, 15)
    assert times.told_at(rest, second, BERLIN) == second


def test_without_quiet_hours_or_with_none_of_any_length_all_is_told_at_once():
    at = datetime(2026, 5, 1, 1, tzinfo=UTC)
    same = time(3)
    assert times.told_at(None, at, BERLIN) == at
    assert times.told_at(ReminderWishes(), at, BERLIN) == at
    assert times.told_at(quiet(same, same), at, BERLIN) == at


def test_a_round_is_at_the_farms_own_time_and_an_unknown_one_is_an_error():
    farm = Farm(time_zone="Europe/Berlin", evening_at=time(17, 45))
    assert times.round_at(farm, date(2026, 1, 2), "evening") == datetime(2026, 1, 2, 16, 45, tzinfo=UTC)
    assert times.round_at(farm, date(2026, 1, 2), "morning") == datetime(2026, 1, 2, 6, tzinfo=UTC)
    with pytest.raises(KeyError):
        times.round_clock(farm, "night")
