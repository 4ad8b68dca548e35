"""Stamps and sequences move with the content and with nothing else."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from calendars.ics import Status, render
from calendars.versions import settle
from farm.planning.window import Window
from tests.calendars.cases import all_day, timed

NOW = datetime(2026, 5, 1, 10, tzinfo=UTC)
TODAY = date(2026, 5, 1)
WINDOW = Window(date(2026, 4, 1), 210)


class Store:
    """The version rows of one edition, kept between builds as the database keeps them."""

    def __init__(self):
        self.rows = {}

    def publish(self, *entries, now=NOW, today=None):
        settled = settle(entries, self.rows, WINDOW, today or now.date(), now)
        self.rows |= {row.uid: row for row in settled.new}
        return settled


def test_a_new_entry_is_stamped_now_with_sequence_0():
    (entry,) = Store().publish(all_day()).entries
    assert (entry.stamp, entry.sequence) == (NOW, 0)


def test_nothing_changed_means_nothing_written_and_the_same_bytes_at_any_later_time():
    store = Store()
    first = store.publish(all_day(), timed()).entries
    again = store.publish(all_day(), timed(), now=NOW + timedelta(days=3))
    assert [render(entry) for entry in again.entries] == [render(entry) for entry in first]
    assert (again.new, again.changed) == ([], [])


def test_a_new_wording_moves_the_stamp_and_not_the_sequence():
    store, later = Store(), NOW + timedelta(hours=1)
    store.publish(all_day())
    (entry,) = store.publish(all_day(summary="Grit in"), now=later).entries
    assert (entry.stamp, entry.sequence) == (later, 0)


def test_another_day_raises_the_sequence():
    store, later = Store(), NOW + timedelta(hours=1)
    store.publish(all_day())
    (entry,) = store.publish(all_day(start=date(2026, 5, 10), end=date(2026, 5, 11)), now=later).entries
    assert (entry.stamp, entry.sequence) == (later, 1)


def test_two_changes_within_a_second_have_two_stamps():
    store = Store()
    store.publish(all_day())
    (entry,) = store.publish(all_day(summary="Grit in"), now=NOW + timedelta(milliseconds=5)).entries
    assert entry.stamp == NOW + timedelta(seconds=1)


def test_a_clock_set_back_still_moves_the_stamp_ahead():
    store = Store()
    store.publish(all_day())
    (entry,) = store.publish(all_day(summary="Grit in"), now=NOW - timedelta(days=1)).entries
    assert entry.stamp == NOW + timedelta(seconds=1)


def test_an_entry_that_vanished_is_cancelled_with_the_next_sequence_on_its_old_day():
    store, later = Store(), NOW + timedelta(hours=1)
    store.publish(timed())
    (entry,) = store.publish(now=later).entries
    assert (entry.status, entry.sequence, entry.stamp) == (Status.CANCELLED, 1, later)
    assert (entry.summary, entry.start, entry.end) == ("Cancelled: Morning round", timed().start, timed().end)


def test_a_cancelled_entry_stays_the_same_for_14_days_and_then_goes():
    store = Store()
    store.publish(timed())
    first = store.publish(now=NOW).entries
    for days in (1, 13):
        kept = store.publish(now=NOW + timedelta(days=days), today=TODAY)
        assert (kept.entries, kept.changed) == (first, [])
    assert store.publish(now=NOW + timedelta(days=14, seconds=1), today=TODAY).entries == []


def test_an_entry_that_comes_back_is_confirmed_with_a_sequence_above_the_cancelled_one():
    store = Store()
    store.publish(all_day())
    store.publish(now=NOW + timedelta(days=1))
    (entry,) = store.publish(all_day(), now=NOW + timedelta(days=2)).entries
    assert (entry.status, entry.sequence, entry.summary) == (Status.CONFIRMED, 2, "Grit")


def test_what_was_done_stays_as_it_was_when_the_plan_no_longer_asks_for_it():
    store = Store()
    done = all_day(
        summary="✓ Grit", description="Why", url="https://hens.example/", categories=("Step",), color="tan"
    )
    first = store.publish(done).entries
    again = store.publish(now=NOW + timedelta(days=12))
    assert (again.entries, again.changed) == (first, [])


def test_a_past_day_that_is_no_longer_planned_goes_without_a_notice():
    store = Store()
    store.publish(all_day())
    assert store.publish(now=NOW + timedelta(days=9), today=date(2026, 5, 10)).entries == []


def test_a_day_that_left_the_window_goes_without_a_notice():
    store = Store()
    store.publish(all_day(start=date(2026, 3, 31), end=date(2026, 4, 1)))
    assert store.publish().entries == []


edits = st.lists(
    st.one_of(
        st.none(),
        st.builds(
            lambda day, title: all_day(start=date(2026, 6, day), end=date(2026, 6, day + 1), summary=title),
            st.integers(1, 20),
            st.sampled_from(["Grit", "Perch", "✓ Grit"]),
        ),
    ),
    min_size=1,
    max_size=8,
)


@given(edits)
def test_through_any_edits_stamp_and_sequence_never_fall_and_move_only_with_the_content(versions):
    store, last = Store(), None
    for hour, version in enumerate(versions):
        entries = store.publish(
            *filter(None, [version]), now=NOW + timedelta(hours=hour), today=TODAY
        ).entries
        if not entries:
            continue
        (entry,) = entries
        if last is not None:
            same = replace(entry, stamp=NOW, sequence=0) == replace(last, stamp=NOW, sequence=0)
            assert entry.sequence >= last.sequence
            assert (entry.stamp == last.stamp) if same else (entry.stamp > last.stamp)
            assert (entry.timing() == last.timing()) == (entry.sequence == last.sequence)
        last = entry
