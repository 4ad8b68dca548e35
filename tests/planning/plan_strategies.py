"""Farms to plan, drawn by hypothesis: any mix of rules, with pins, pasts, seasons, parts and now and then a plan."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import strategies as st

from farm.planning.problem import Apart, Arrival, Batch, Capacity, Housing, Left, Past, Pin, Problem, Stage
from farm.planning.solve import solve
from tests.planning.plan_world import START, day, demand

SPECIES = ("chicken", "turkey", "duck")
APART = (Apart("chicken", "turkey", False, 30), Apart("chicken", "duck", True))


@st.composite
def housings(draw, count):
    found = []
    for number in range(count):
        kind = "brooder" if number == 0 else draw(st.sampled_from(("brooder", "pen", "pen", "paddock")))
        found.append(
            Housing(
                key=f"{kind}-{number}",
                name=f"{kind} {number}",
                kind=kind,
                area_dm2=draw(st.integers(20, 600)),
                feeder_mm=draw(st.sampled_from((0, 0, 500))),
                drinker_mm=draw(st.sampled_from((0, 0, 300))),
                heated=kind == "brooder" or draw(st.booleans()),
                indoor=kind != "paddock",
                one_batch=draw(st.booleans()),
                max_age_gap_days=draw(st.sampled_from((None, 0, 7, 21))),
                rest_days=draw(st.sampled_from((0, 0, 3, 14))),
                species=draw(st.sampled_from((frozenset(), frozenset(), frozenset({"chicken", "duck"})))),
                in_service_from=draw(st.sampled_from((None, None, day(10)))),
                in_service_to=draw(st.sampled_from((None, None, day(90)))),
                changes=draw(st.sampled_from(((), (), (Capacity(day(40), 90, 200, 200),)))),
            )
        )
    return tuple(found)


@st.composite
def batches(draw, number, rooms, days):
    key, species = f"batch-{number:02}", draw(st.sampled_from(SPECIES))
    birds, arrives = draw(st.integers(1, 40)), draw(st.integers(-20, days - 10))
    brood, move = draw(st.integers(10, 40)), draw(st.integers(0, 14))
    asked = demand(
        young=draw(st.integers(10_000, 120_000)),
        grown=draw(st.integers(40_000, 250_000)),
        heat_days=brood,
        feeder=draw(st.sampled_from((0, 25_000))),
        drinker=draw(st.sampled_from((0, 12_000))),
    )
    outdoors = draw(st.integers(brood, 60))
    stages = (
        Stage(frozenset({"brooder"}), 0, brood + move + draw(st.sampled_from((0, 7, 60)))),
        Stage(frozenset({"pen"}), brood, draw(st.sampled_from((None, 200)))),
        Stage(frozenset({"paddock"}), outdoors, None),
        Stage(frozenset({"brooder", "pen"}), brood, None),
    )
    one = Batch(
        key=key,
        name=key,
        species=species,
        birds=birds,
        demand=asked,
        stages=stages,
        arrival=Arrival(day(arrives)),
        survivors=draw(st.sampled_from(((), (birds, max(birds - 2, 1), max(birds - 3, 1))))),
        leave_age_days=draw(st.sampled_from((45, 70, 120, None))),
        outdoors_age_days=draw(st.sampled_from((0, 50))),
        outdoors_from=draw(st.sampled_from((None, day(30)))),
        max_parts=draw(st.sampled_from((1, 1, 2, 3))),
        min_stay_days=draw(st.sampled_from((1, 1, 5, 14))),
        forbidden=draw(st.sampled_from((frozenset(), frozenset({rooms[-1].key})))),
    )
    if arrives < 0:
        where = draw(st.sampled_from(rooms)).key
        return replace(one, history=(Past(where, day(arrives), day(draw(st.sampled_from((0, 0, 4))))),))
    if draw(st.booleans()):
        before = timedelta(days=draw(st.integers(0, arrives)))
        window = Arrival(
            day(arrives), day(arrives) - before, day(arrives + draw(st.integers(1, 15))), frozenset({3, 5})
        )
        return replace(one, arrival=window)
    return one


@st.composite
def problems(draw, most_batches=8, most_housings=6, days=126):
    rooms = draw(housings(draw(st.integers(1, most_housings))))
    found = tuple(draw(batches(number, rooms, days)) for number in range(draw(st.integers(1, most_batches))))
    pins = []
    for _ in range(draw(st.integers(0, 3))):
        start = draw(st.integers(-3, days - 5))
        pins.append(
            Pin(
                draw(st.sampled_from(found)).key,
                draw(st.sampled_from(rooms)).key,
                day(start),
                day(start + draw(st.integers(1, 40))),
            )
        )
    asked = Problem(
        start=START,
        days=days,
        housings=rooms,
        batches=found,
        pins=tuple(pins),
        apart=APART,
        left=draw(st.sampled_from(((), (Left(rooms[0].key, "turkey", day(-2)),)))),
        move_weekdays=draw(st.sampled_from((frozenset({5}), frozenset({2, 5}), frozenset()))),
    )
    if draw(st.booleans()):
        return asked
    return replace(asked, adopted=solve(replace(asked, pins=()), iterations=5).plans)
