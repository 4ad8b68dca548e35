"""How egg sets are drawn in their machines: which days, in which lane, with which words."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.incubation import incubation
from farm.models import EggSet, Machine, ProgrammeVersion
from farm.planning.window import Window
from farm.queries.hatching import SetRow
from farm.services.programmes import digest
from farm.trade import load
from farm.web.board.geometry import Scale
from farm.web.hatching.bands import HATCH, HATCHED, LAST, TURNED, Band, in_machine, spans
from tests.conftest import TODAY

DAY = timedelta(days=1)
WINDOW = Window(TODAY - 30 * DAY, 90)
SCALE = Scale(26.0, 0, 1, 1)
BOTH, SETTER, HATCHER = (Machine(pk=number, name=str(number), cleaning_days=1) for number in (1, 2, 3))
PROGRAMME = load.programmes()["chicken_layer_brown"]
CONTENT = load.to_dict(PROGRAMME)
VERSION = ProgrammeVersion(content=CONTENT, digest=digest(CONTENT))

#: Days from today on which eggs are set, eggs, and after how many days they hatched (None: not recorded yet).
SETS = st.lists(
    st.tuples(st.integers(-25, 40), st.integers(1, 500), st.sampled_from([None, None, 20, 21, 23])),
    max_size=7,
)


def row(
    number: int,
    set_on: date,
    eggs: int = 40,
    hatched: int | None = None,
    setter: Machine = BOTH,
    hatcher: Machine | None = None,
) -> SetRow:
    egg_set = EggSet(
        pk=number,
        name=f"E{number}",
        species="chicken",
        eggs=eggs,
        setter=setter,
        hatcher=hatcher or setter,
        set_on=set_on,
        hatched_on=None if hatched is None else set_on + hatched * DAY,
        programme_version=VERSION,
    )
    state = "hatched" if hatched else "planned" if set_on > TODAY else "turned"
    return SetRow(egg_set, incubation(PROGRAMME, set_on), state, {}, eggs, eggs * 0.7, 0, eggs, (), ())


def drawn(rows: list[SetRow], machine: Machine = BOTH) -> tuple[Band, ...]:
    return in_machine(rows, machine, WINDOW, SCALE, TODAY)


def x(day: date) -> float:
    return SCALE.x(WINDOW.index(day))


def test_an_egg_set_is_turned_then_left_alone_then_may_hatch_then_is_out():
    set_on = TODAY - 3 * DAY

    assert spans(row(1, set_on), BOTH) == [
        (TURNED, set_on, set_on + 18 * DAY),
        (LAST, set_on + 18 * DAY, set_on + 20 * DAY),
        (HATCH, set_on + 20 * DAY, set_on + 23 * DAY),
    ]


def test_an_egg_set_is_drawn_in_its_setter_until_lockdown_and_in_its_hatcher_from_then_on():
    one = row(1, TODAY, setter=SETTER, hatcher=HATCHER)

    assert spans(one, SETTER) == [(TURNED, TODAY, TODAY + 18 * DAY)]
    assert [kind for kind, _start, _stop in spans(one, HATCHER)] == [LAST, HATCH]
    assert spans(one, HATCHER)[0][1] == TODAY + 18 * DAY
    assert spans(one, BOTH) == []


def test_a_recorded_hatch_shows_its_own_day_and_no_expected_one():
    (band,) = drawn([row(1, TODAY - 24 * DAY, hatched=22)])

    assert band.over
    assert band.main_x is None
    assert [piece.kind for piece in band.pieces] == [TURNED, LAST, HATCHED]
    assert band.pieces[-1].x == x(TODAY - 2 * DAY)


def test_the_expected_day_is_marked_in_its_middle_and_only_where_they_hatch():
    one = row(1, TODAY, setter=SETTER, hatcher=HATCHER)

    assert [band.main_x for band in drawn([one], SETTER)] == [None]
    assert [band.main_x for band in drawn([one], HATCHER)] == [x(TODAY + 21 * DAY) + 13.0]


@given(SETS)
def test_bands_of_one_lane_never_touch_and_pieces_of_a_band_join_without_a_gap(sets):
    rows = [row(n, TODAY + after * DAY, eggs, hatched) for n, (after, eggs, hatched) in enumerate(sets, 1)]

    bands = drawn(rows)

    assert {band.row.egg_set.pk for band in bands} == {one.egg_set.pk for one in rows}
    for lane in {band.lane for band in bands}:
        there = sorted((band for band in bands if band.lane == lane), key=lambda band: band.x)
        assert all(one.x + one.width <= then.x + 1e-6 for one, then in pairwise(there))
    for band in bands:
        assert all(abs(a.x + a.width - b.x) < 0.02 for a, b in pairwise(band.pieces))
        assert abs(sum(piece.width for piece in band.pieces) - band.width) < 0.05
        assert 0 <= band.x <= band.x + band.width <= SCALE.x(WINDOW.days)


@given(SETS)
def test_no_more_lanes_are_drawn_than_sets_are_in_the_machine_on_one_day(sets):
    rows = [row(n, TODAY + after * DAY, eggs, hatched) for n, (after, eggs, hatched) in enumerate(sets, 1)]
    together = [
        sum(spans(one, BOTH)[0][1] <= day < spans(one, BOTH)[-1][2] for one in rows)
        for day in (TODAY + offset * DAY for offset in range(-40, 80))
    ]

    assert 1 + max((band.lane for band in drawn(rows)), default=-1) == max(together)


@given(SETS)
def test_a_label_stays_within_its_band(sets):
    rows = [row(n, TODAY + after * DAY, eggs, hatched) for n, (after, eggs, hatched) in enumerate(sets, 1)]

    for band in drawn(rows):
        for at, text in band.labels:
            assert band.x <= at
            assert at + 6.6 * len(text) <= band.x + band.width


def test_a_band_says_as_much_as_it_has_room_for():
    one = row(1, TODAY, eggs=40)

    def labels(day_width: float) -> list[str]:
        (band,) = in_machine([one], BOTH, WINDOW, Scale(day_width, 0, 1, 1), WINDOW.start)
        return [text for _x, text in band.labels]

    assert labels(26.0) == ["E1: 40 eggs, about 28 chicks"]
    assert labels(6.0) == ["E1: 40 eggs"]
    assert labels(2.0) == ["E1"]
    assert labels(0.5) == []


def test_a_long_band_says_its_name_again_after_today():
    (band,) = drawn([row(1, TODAY - 10 * DAY, setter=SETTER, hatcher=HATCHER)], SETTER)
    (fresh,) = drawn([row(1, TODAY - 2 * DAY, setter=SETTER, hatcher=HATCHER)], SETTER)

    assert [text for _x, text in band.labels] == ["E1: 40 eggs, about 28 chicks", "E1: 40 eggs"]
    assert band.labels[1][0] == x(TODAY + DAY)
    assert len(fresh.labels) == 1


def test_a_set_outside_the_days_shown_has_no_band():
    assert drawn([row(1, WINDOW.end + DAY)]) == ()
