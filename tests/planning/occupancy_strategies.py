"""Random small farms: a few rooms, several species, stays that overlap, touch and cross the window."""

from datetime import date, timedelta

import numpy as np
from hypothesis import strategies as st
from occupancy_world import needs

from farm.planning.occupancy import Group, Part, Room
from farm.planning.window import Window

WINDOW = Window(date(2031, 3, 1), 24)
SPECIES = ("chicken", "turkey", "duck")
APART = {frozenset(("chicken", "turkey"))}


def day(number):
    return WINDOW.start + timedelta(days=number)


maybe_day = st.one_of(st.none(), st.integers(-5, 30).map(day))


@st.composite
def rooms(draw, key):
    return Room(
        key=key,
        name=key,
        area_m2=draw(st.sampled_from([0.5, 2.0, 4.0, 50.0])),
        feeder_cm=draw(st.sampled_from([0.0, 40.0, 1000.0])),
        drinker_cm=draw(st.sampled_from([0.0, 15.0, 1000.0])),
        heated=draw(st.booleans()),
        one_batch=draw(st.booleans()),
        max_age_gap_days=draw(st.sampled_from([None, 0, 5, 14])),
        rest_days=draw(st.sampled_from([0, 1, 6, 14])),
        in_service_from=draw(maybe_day),
        in_service_to=draw(maybe_day),
        species=draw(st.sampled_from([frozenset(), frozenset({"chicken"}), frozenset({"duck", "turkey"})])),
    )


@st.composite
def parts(draw, key, groups, rooms):
    start = draw(st.integers(-20, 25))
    length = draw(st.one_of(st.none(), st.integers(1, 25)))
    first, last = day(start), None if length is None else day(start + length)
    birds = np.zeros(WINDOW.days, dtype=np.int64)
    columns = WINDOW.clip(first, last)
    if columns:
        held = draw(st.integers(1, 40))
        birds[columns] = held
        # Losses part-way, now and then of all the birds.
        lost_on = draw(st.integers(columns.start, columns.stop))
        birds[lost_on : columns.stop] -= draw(st.sampled_from([0, 1, held]))
        birds[columns] = np.maximum(birds[columns], 0)
    group, room = draw(st.sampled_from(groups)), draw(st.sampled_from(rooms))
    return Part(key, group.key, room.key, first, last, birds, override=draw(st.booleans()))


@st.composite
def farms(draw):
    """(window, rooms, groups, parts) as `occupancy` takes them."""
    boxes = tuple(draw(rooms(f"room-{n}")) for n in range(draw(st.integers(1, 3))))
    groups = tuple(
        Group(
            key=f"batch-{n}",
            name=f"Batch {n}",
            species=draw(st.sampled_from(SPECIES)),
            hatch_day=day(draw(st.integers(-60, 20))),
            needs=needs(step=draw(st.integers(1, 20)), heat_days=draw(st.integers(0, 30)), days=30),
        )
        for n in range(draw(st.integers(1, 4)))
    )
    stays = tuple(draw(parts(f"stay-{n}", groups, boxes)) for n in range(draw(st.integers(0, 7))))
    return WINDOW, boxes, groups, stays
