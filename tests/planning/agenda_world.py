"""A small named world for the agenda: one chick programme, a brooder, a pen; tests vary it by `replace`."""

from datetime import date, timedelta

from hypothesis import strategies as st

from farm.planning import agenda
from farm.planning.window import Window
from farm.trade.programme import JUDGEMENT, NO_SOURCE, FeedPhase, Knot, Programme, Rule

HATCH = date(2025, 4, 12)
WHOLE = Window(HATCH - timedelta(days=10), 260)


def day(age):
    return HATCH + timedelta(days=age)


def curve(*pairs, source=NO_SOURCE):
    return tuple(Knot(at, value, source) for at, value in pairs)


CHICK = Programme(
    key="chick",
    name="Chick",
    species="chicken",
    type="layer",
    curves={
        "temp_c": curve(
            (0, 35.0), (7, 32.2), (14, 29.4), (21, 26.7), (28, 23.9), (35, 21.1), source="PSU2023"
        ),
        "feeder_cm": curve((0, 2.5), (7, 3.8), (21, 5.1)),
        "drinker_cm": curve((0, 1.3), (35, 1.9)),
        "weight_female_g": curve((0, 40.0), (7, 65.0), (84, 1100.0)),
        "weight_male_g": curve((0, 40.0), (7, 70.0), (84, 1400.0)),
        "night_min_c": curve((0, 32.0), (35, 16.0), (42, 10.0)),
        "bedding_every_days": curve((0, 2.0)),
    },
    rules={
        "heat_off_earliest_day": Rule(35, JUDGEMENT),
        "heat_off_latest_day": Rule(42, JUDGEMENT),
        "feathered_day": Rule(42, JUDGEMENT),
        "day_out_day": Rule(28, JUDGEMENT),
        "warm_day_out_day": Rule(21, JUDGEMENT),
        "acclimatise_days": Rule(5, JUDGEMENT),
        "cloth_off_day": Rule(3, NO_SOURCE),
        "isolation_days": Rule(30, "EXT-AI"),
    },
    feeds=(FeedPhase(0, "starter", 200, NO_SOURCE), FeedPhase(42, "grower", 170, "MERCK-B")),
)

REDS = agenda.AgendaBatch("7", "Reds", "chicken", HATCH, CHICK)
BROODED = agenda.AgendaStay("1", "7", "2", "Brooder 2", HATCH, None, 40, indoor=True, heated=True)
PENNED = agenda.AgendaStay("2", "7", "3", "Pen 3", day(45), None, 40, indoor=False, heated=False)


def jobs(items, job):
    return [item for item in items if item.job == job]


def named(items, part):
    """Items whose id has this part between its slashes, for example "first_out"."""
    return [item for item in items if part in item.source.split("/")]


def until(stay, end):
    return agenda.AgendaStay(
        stay.key, stay.batch, stay.room, stay.room_name, stay.start, end, stay.birds, stay.indoor, stay.heated
    )


@st.composite
def farms(draw):
    """Up to four batches and eight stays in four housings; overlaps, gaps and splits are all allowed."""
    batches = [
        agenda.AgendaBatch(
            str(key),
            f"batch {key}",
            "chicken",
            HATCH + timedelta(days=draw(st.integers(-20, 40))),
            CHICK,
            source=draw(st.sampled_from(["own_hatch", "intake"])),
            arrived_on=HATCH,
        )
        for key in range(draw(st.integers(1, 4)))
    ]
    stays = []
    for key in range(draw(st.integers(1, 8))):
        batch = draw(st.sampled_from(batches))
        room = draw(st.integers(0, 3))
        start = batch.hatch_day + timedelta(days=draw(st.integers(-3, 60)))
        length = draw(st.none() | st.integers(1, 60))
        stays.append(
            agenda.AgendaStay(
                str(key),
                batch.key,
                str(room),
                f"Room {room}",
                start,
                None if length is None else start + timedelta(days=length),
                draw(st.integers(1, 160)),
                indoor=room < 3,
                heated=room < 2,
                rest_days=draw(st.integers(0, 21)),
            )
        )
    return batches, stays
