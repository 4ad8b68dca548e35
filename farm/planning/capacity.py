"""Judges of what a room gives: floor, feeder, drinker, heat, and being in service at all."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from farm.planning.breach import Breach, worst_runs
from farm.planning.indoors import Indoors, asked_by_day
from farm.planning.premises import TOLERANCE

#: kind of breach -> the measure of `Needs` and of `Room` it compares.
MEASURES = {"room": "area_m2", "feeder": "feeder_cm", "drinker": "drinker_cm"}


def too_small(inside: Indoors) -> Iterator[Breach]:
    """Yield where the birds ask for more floor, feeder or drinker than the room has while it is in service.

    Edges of 0 are not recorded and not judged. Birds too many: the least number, found by taking out the
    birds that ask most first; for floor those are the oldest, the ones nearest to leaving anyway.
    """
    for kind, measure in MEASURES.items():
        given = getattr(inside.room, measure)
        if kind != "room" and not given:
            continue
        short = np.where(inside.in_service, inside.asked(measure) - given, 0.0)
        for run in worst_runs(short, TOLERANCE):
            groups = tuple(inside.present(run.worst))
            birds = fewest_out(inside, measure, run.worst, run.short)
            yield run.breach(inside.window, kind, inside.room.key, groups, birds)


def fewest_out(inside: Indoors, measure: str, column: int, short: float) -> int:
    """Return the least number of birds whose asking adds up to `short` (m² or cm) on that day."""
    asking = {
        key: float(asked_by_day(inside.groups[key], inside.window, measure)[column])
        for key in inside.present(column)
    }
    out = 0
    for key in sorted(asking, key=lambda key: (-asking[key], key)):
        if short <= TOLERANCE or not asking[key]:
            break
        taken = min(int(inside.birds[key][column]), int(np.ceil((short - TOLERANCE) / asking[key])))
        out += taken
        short -= taken * asking[key]
    return out


def no_heat(inside: Indoors) -> Iterator[Breach]:
    """Yield, for each batch, the days it needs heat in a room without any and no override is recorded."""
    if inside.room.heated:
        return
    for key in inside.birds:
        cold = np.zeros(inside.window.days, dtype=np.int64)
        for part in inside.parts:
            if part.group == key and not part.override:
                cold += part.birds
        needing = cold * (asked_by_day(inside.groups[key], inside.window, "heat") > 0)
        for run in worst_runs(needing.astype(np.float64)):
            yield run.breach(inside.window, "heat", inside.room.key, (key,), int(needing[run.worst]))


def out_of_service(inside: Indoors) -> Iterator[Breach]:
    """Yield the days birds are in a room that is not in service; its size is then not judged as well."""
    birds = sum(inside.birds.values(), np.zeros(inside.window.days, dtype=np.int64))
    stranded = np.where(inside.in_service, 0, birds)
    for run in worst_runs(inside.asked("area_m2"), broken=stranded > 0):
        groups = tuple(inside.present(run.worst))
        yield run.breach(inside.window, "service", inside.room.key, groups, int(stranded[run.worst]))
