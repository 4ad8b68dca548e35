"""The moments of a farm's reminders: each once, however clocks change and whenever it is looked."""

from datetime import UTC, date, datetime, time, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from farm.models import Farm, Member, Notice, ReminderWishes
from farm.queries.reminders import Reader
from farm.services.reminders import moments
from tests.farm.reminders_world import DAY, HOUR, MINUTE, begin, chicks, pass_time, told

SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)


def reader(**wanted):
    return Reader(Member(pk=1, name="Ada", adult=True), ReminderWishes(missed=False, **wanted), ())


@given(
    clocks=st.lists(st.one_of(st.none(), st.times()), min_size=3, max_size=3),
    quiet=st.one_of(st.none(), st.tuples(st.times(), st.times())),
    around=st.sampled_from([SPRING, AUTUMN, date(2026, 6, 1)]),
)
@settings(max_examples=60)
def test_however_the_clocks_change_each_round_is_told_once_a_day(clocks, quiet, around):
    farm = Farm(time_zone="Europe/Berlin")
    start, end = quiet or (None, None)
    names = ("morning", "midday", "evening")
    one = reader(**{f"{n}_at": c for n, c in zip(names, clocks, strict=True)}, quiet_from=start, quiet_to=end)
    first, last = around - 2 * DAY, around + 2 * DAY
    found = moments.moments(farm, [one], first, last, 90 * MINUTE)
    expected = [(first + n * DAY, name) for n in range(5) for name, c in zip(names, clocks, strict=True) if c]
    assert sorted((moment.day, moment.round) for moment in found) == sorted(expected)
    assert all(moment.until >= moment.at + 3 * HOUR for moment in found)


@given(
    stops=st.lists(st.integers(1, 60 * 30), min_size=1, max_size=20),
    around=st.sampled_from([SPRING, AUTUMN]),
    clock_time=st.times(),
)
@settings(max_examples=60)
def test_whenever_it_is_looked_no_moment_is_left_out_or_comes_twice(stops, around, clock_time):
    """Looks at any instants, each from where the last one left off, see each moment in between exactly once."""
    farm = Farm(time_zone="Europe/Berlin")
    one = reader(morning_at=clock_time, evening_at=time(2, 30))
    found = moments.moments(farm, [one], around - 3 * DAY, around + 9 * DAY, 90 * MINUTE)
    now = datetime(around.year, around.month, around.day, tzinfo=UTC) - timedelta(hours=20)
    begun, since, seen = now, now, []
    for stop in stops:
        now += stop * MINUTE
        seen += moments.due(found, since, now)
        since = moments.next_after(found, now) or now
    assert seen == [moment for moment in found if begun <= moment.at <= now]


def test_a_night_with_a_skipped_time_is_told_of_once(world):
    chicks(world, age=0)
    told(world.by, morning_at="02:30")
    start = datetime(2026, 10, 24, 12, tzinfo=UTC)
    begin(world, start)
    pass_time(world, start, start + 2 * DAY)
    keys = list(Notice.objects.order_by("due_at").values_list("key", "due_at"))
    assert keys == [
        ("2026-10-25/morning", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        ("2026-10-26/morning", datetime(2026, 10, 26, 1, 30, tzinfo=UTC)),
    ]


def test_who_wants_nothing_has_no_moments():
    farm, nobody = Farm(time_zone="Europe/Berlin"), Reader(Member(pk=1, name="Ada"), None, ())
    for one in (reader(), nobody):
        assert moments.moments(farm, [one], SPRING, AUTUMN, 90 * MINUTE) == []


def test_missed_rounds_are_looked_at_once_for_each_adult_and_once_before():
    farm = Farm(time_zone="Europe/Berlin")
    both = [Reader(Member(pk=n, name="Ada", adult=n > 1), ReminderWishes(missed=True), ()) for n in (1, 2)]
    found = list(moments.missed(farm, both, date(2026, 5, 1), 60 * MINUTE))
    assert [(one.round, one.step) for one in found] == [
        (name, step) for name in ("morning", "midday", "evening") for step in (0, 1)
    ]
    assert found[1].at - found[0].at == 30 * MINUTE
    assert found[0].at == datetime(2026, 5, 1, 6, tzinfo=UTC)


def test_what_is_due_is_what_came_since_the_last_look_and_the_next_is_later():
    farm = Farm(time_zone="Europe/Berlin")
    found = moments.moments(farm, [reader(morning_at=time(6))], SPRING, SPRING + 3 * DAY, 90 * MINUTE)
    first, second = found[0].at, found[1].at
    assert moments.due(found, first, second) == found[:2]
    assert moments.next_after(found, first) == second
    assert moments.next_after(found, found[-1].at) is None
