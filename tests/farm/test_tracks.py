"""The same birds are followed from stay to stay, none lost, none doubled."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import example, given
from hypothesis import strategies as st

from farm.planning.heads import Line, Stay, by_stay
from farm.planning.solution import PlanStay
from farm.planning.window import Window
from farm.queries.tracks import tracks

FIRST = date(2026, 5, 1)


def day(offset: int) -> date:
    return FIRST + timedelta(days=offset)


def followed(birds: int, *stays: tuple[str, int, int, int], end: int = 60) -> list[tuple]:
    """Return each track as (birds, (room, first day, end), …); stays are (room, first day, end, birds)."""
    rows = [Stay(f"s{at}", room, day(a), day(b), n) for at, (room, a, b, n) in enumerate(stays)]
    found = tracks([Line(FIRST, birds)], rows, FIRST, day(end))
    rooms = {row.key: row.room for row in rows}
    return [
        (
            track.birds,
            *(
                (stay.housing, (stay.start - FIRST).days, (stay.end - FIRST).days)
                for stay in track.chain(rooms, day(end))
            ),
        )
        for track in found
    ]


def test_one_stay_after_another_is_one_track():
    assert followed(40, ("A", 0, 20, 40), ("B", 20, 60, 40)) == [(40, ("A", 0, 20), ("B", 20, 60))]


def test_two_stays_in_the_same_housing_are_one_link():
    assert followed(40, ("A", 0, 20, 40), ("A", 20, 60, 40)) == [(40, ("A", 0, 60))]


def test_a_gap_is_a_link_without_housing():
    assert followed(40, ("A", 0, 20, 40), ("B", 30, 60, 40)) == [
        (40, ("A", 0, 20), (None, 20, 30), ("B", 30, 60))
    ]


def test_equal_halves_that_part_are_two_tracks():
    assert followed(22, ("A", 1, 2, 11)) == [
        (11, (None, 0, 60)),
        (11, (None, 0, 1), ("A", 1, 2), (None, 2, 60)),
    ]


def test_birds_that_move_together_are_not_mixed_with_others():
    found = followed(40, ("A", 0, 20, 25), ("B", 0, 20, 15), ("C", 20, 60, 15), ("D", 20, 60, 25))

    assert found == [(25, ("A", 0, 20), ("D", 20, 60)), (15, ("B", 0, 20), ("C", 20, 60))]


def test_a_batch_spread_over_two_pens_has_two_ways_from_the_beginning():
    found = followed(40, ("A", 0, 20, 40), ("B", 20, 60, 25), ("C", 20, 60, 15))

    assert found == [(25, ("A", 0, 20), ("B", 20, 60)), (15, ("A", 0, 20), ("C", 20, 60))]


def test_only_the_days_asked_about_are_followed():
    assert followed(40, ("A", 0, 20, 40), ("B", 20, 90, 40), end=20) == [(40, ("A", 0, 20))]


@example(birds=10, stays=[("A", 6, 30, 10), ("A", 36, 1, 5)])  # half of them nowhere from the 37th day on
@given(
    st.integers(1, 30),
    st.lists(
        st.tuples(st.sampled_from("ABC"), st.integers(0, 40), st.integers(1, 30), st.integers(1, 30)),
        max_size=6,
    ),
)
def test_on_every_day_the_tracks_are_where_the_birds_are(birds: int, stays: list[tuple[str, int, int, int]]):
    rows = [Stay(f"s{at}", room, day(a), day(a + b), n) for at, (room, a, b, n) in enumerate(stays)]
    ledger, window = [Line(FIRST, birds)], Window(FIRST, 80)
    held, _free = by_stay(ledger, rows, window)
    rooms = {row.key: row.room for row in rows}

    found = [
        (track.birds, track.chain(rooms, window.end)) for track in tracks(ledger, rows, FIRST, window.end)
    ]

    assert sum(count for count, _chain in found) == birds
    for offset in range(0, 80, 3):
        for room in "ABC":
            there = sum(count for count, chain in found if _at(chain, day(offset)) == room)
            assert there == sum(int(held[key][offset]) for key in held if rooms[key] == room)


def _at(chain: tuple[PlanStay, ...], on: date) -> str | None:
    (stay,) = [stay for stay in chain if stay.start <= on < stay.end]
    return stay.housing
