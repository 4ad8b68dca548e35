"""One batch's rows as the planner knows it: needs by age, stages, past, parts, pins, and what is planned now."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from farm.husbandry import needs, outdoors, survival
from farm.models import Batch, Stay
from farm.models.housing import HousingKind
from farm.planning import problem as planning
from farm.planning.loads import DAYS_PER_WEEK
from farm.planning.problem import Arrival, Demand, PartSize, Past, Pin, Stage
from farm.planning.solution import BatchPlan, PlanPart
from farm.queries import heads, programmes
from farm.queries.tracks import Track, tracks
from farm.queries.weather import Sky
from farm.trade.general import figure
from farm.trade.programme import Programme

#: Birds may live in a brooder for so long after their heat is off. Project default (judgement).
BROODER_DAYS_AFTER_HEAT = 28
#: No stay is planned shorter, and a batch is split into no more parts. Project default (judgement).
MIN_STAY_DAYS, MAX_PARTS = 7, 2
_AGES = 400  # days of age a curve is read for; older birds hold the last value
_OUTSIDE = frozenset({HousingKind.RUN.value, HousingKind.PADDOCK.value})
_INSIDE = frozenset({HousingKind.PEN.value, HousingKind.COOP.value})
_DAY = timedelta(days=1)


def earliest_outdoors(programme: Programme, hatch_day: date, sky: Sky | None = None) -> date:
    """Return the first day on which birds of this hatch may live out of doors.

    Old enough to be out by day, and feathered; where the farm has a climate, warm enough at night too. The one place
    that decides it.
    """
    by_age = hatch_day + timedelta(days=outdoors.nights_out_age(programme))
    return (sky and sky.held_back(programme, hatch_day)) or by_age


def demand(programme: Programme) -> Demand:
    """Return what one bird asks for by day of age, rounded up to whole mm² and µm."""
    asked = needs.needs(programme, _AGES)
    columns = [
        [_up(value * 1_000_000) for value in asked.area_m2.tolist()],
        [_up(value * 10_000) for value in asked.feeder_cm.tolist()],
        [_up(value * 10_000) for value in asked.drinker_cm.tolist()],
        asked.heat.tolist(),
    ]
    ages = list(zip(*columns, strict=True))
    while len(ages) > 1 and ages[-1] == ages[-2]:  # the last value is held anyway
        ages.pop()
    area, feeder, drinker, heat = zip(*ages, strict=True)
    return Demand(area, feeder, drinker, heat)


def stages(programme: Programme, hatch_day: date) -> tuple[Stage, ...]:
    """Return which kinds of housing suit which ages: brooders young, pens and coops always, runs and paddocks late.

    Heat is judged apart: birds that need it are only planned where it is.
    """
    brooder_to = int(programme.rules["heat_off_latest_day"].value) + BROODER_DAYS_AFTER_HEAT
    out = (earliest_outdoors(programme, hatch_day) - hatch_day).days
    return (
        Stage(frozenset({HousingKind.BROODER.value}), 0, brooder_to),
        Stage(_INSIDE, 0),
        Stage(_OUTSIDE, out),
    )


def new_batch(
    programme: Programme,
    *,
    key: str,
    name: str,
    birds: int,
    arrival: Arrival,
    age_days: int = 0,
    leaves: date | None = None,
    leave_age_days: int | None = None,
    sky: Sky | None = None,
) -> planning.Batch:
    """Return a batch that is only thought of: what a keeper might order. age_days: on the day it arrives."""
    hatch_day = arrival.day - timedelta(days=age_days)
    return planning.Batch(
        key=key,
        name=name,
        species=programme.species,
        birds=birds,
        demand=demand(programme),
        stages=stages(programme, hatch_day),
        arrival=arrival,
        age_at_arrival_days=age_days,
        leaves=leaves,
        leave_age_days=leave_age_days,
        outdoors_age_days=(earliest_outdoors(programme, hatch_day) - hatch_day).days,
        outdoors_from=None if sky is None else sky.held_back(programme, hatch_day),
        max_parts=MAX_PARTS,
        min_stay_days=MIN_STAY_DAYS,
    )


class Planned:
    """One batch of the farm as the planner knows it, with its pins and what is planned for it now."""

    def __init__(
        self, row: Batch, today: date, end: date, sure: float | None, sky: Sky | None = None
    ) -> None:
        self.row, self.today, self.sky = row, today, sky
        self.programme = programmes.of(row)
        self.begins = max(row.arrived_on, today)
        self.birds = heads.alive_on(row, self.begins)
        self.leaves = row.leaves_on if row.leaves_on is not None and row.leaves_on > today else None
        self.end = self.leaves or end
        self.stays = list(row.stays.all())
        self.rooms = {str(stay.pk): str(stay.housing_id) for stay in self.stays}
        ledger = heads.lines(list(row.count_entries.all()))
        self.tracks = _joined(tracks(ledger, heads.spans(self.stays), self.begins, self.end))
        self.fixed = [
            stay for stay in self.stays if is_fixed(stay) and (stay.end is None or stay.end > today)
        ]
        self.parted = self._parted()
        self.sure = sure

    @property
    def here(self) -> bool:
        """Say whether the birds are on the farm and in a housing."""
        return self.row.arrived_on <= self.today and self.tracks[0].been[0][0] is not None

    def _parted(self) -> bool:
        """Say whether the parts are given: in several stays now, or a pin holds only some of the birds."""
        if len(self.tracks) < 2:
            return False
        now = {track.been[0][0] for track in self.tracks}
        whole = {key for key, _day in self.tracks[0].been}
        for track in self.tracks[1:]:
            whole &= {key for key, _day in track.been}
        pinned = {str(stay.pk) for stay in self.fixed}
        return len(now) > 1 or bool(pinned - whole)

    @property
    def batch(self) -> planning.Batch:
        """Return the batch."""
        row, sky, out = self.row, self.sky, earliest_outdoors(self.programme, self.row.hatch_day)
        arrival = row.arrived_on if self.here or row.arrived_on > self.today else self.today
        return planning.Batch(
            key=str(row.pk),
            name=row.name,
            species=row.species,
            birds=self.birds,
            demand=demand(self.programme),
            stages=stages(self.programme, row.hatch_day),
            arrival=Arrival(arrival),
            age_at_arrival_days=(arrival - row.hatch_day).days,
            survivors=self._survivors(),
            leaves=self.leaves,
            outdoors_age_days=(out - row.hatch_day).days,
            outdoors_from=None if sky is None else sky.held_back(self.programme, row.hatch_day),
            history=tuple(self._history()) if self.here else (),
            parts=tuple(PartSize(key, track.birds) for key, track in self._named()) if self.parted else (),
            max_parts=max(MAX_PARTS, len(self.tracks)),
            min_stay_days=MIN_STAY_DAYS,
        )

    @property
    def adopted(self) -> BatchPlan:
        """Return what is planned for the batch by the farm's stays as they stand."""
        arrival = self.row.arrived_on if self.here else self.begins
        parts = [
            PlanPart(key, track.birds, track.chain(self.rooms, self.end)) for key, track in self._named()
        ]
        return BatchPlan(str(self.row.pk), arrival, tuple(parts))

    @property
    def pins(self) -> list[Pin]:
        """Return the stays a plan must keep."""
        found = []
        for stay in self.fixed:
            start, end = max(stay.start, self.begins), min(stay.end or self.end, self.end)
            parts = [
                key for key, track in self._named() if any(key_ == str(stay.pk) for key_, _ in track.been)
            ]
            if start < end and parts:
                whole = not self.parted or len(parts) == len(self.tracks)
                found += [
                    Pin(str(self.row.pk), str(stay.housing_id), start, end, part)
                    for part in ([""] if whole else parts)
                ]
        return found

    def _named(self) -> list[tuple[str, Track]]:
        """Return the parts by key. Given parts carry the number of the stay they are in, so that it is found again."""
        if not self.parted:
            return [(str(place), track) for place, track in enumerate(self.tracks, start=1)]
        seen: dict[str, int] = {}
        found = []
        for track in self.tracks:
            stay = track.been[0][0] or "0"
            seen[stay] = seen.get(stay, 0) + 1
            found.append((f"{stay}.{seen[stay]}", track))
        return sorted(found, key=lambda one: one[0])

    def _history(self) -> Iterator[Past]:
        """Yield where the birds have been, and that they stay there until tomorrow."""
        parts = self._named() if self.parted else [("", self.tracks[0])]
        now = {track.been[0][0] for _key, track in parts}
        by_key = {str(stay.pk): stay for stay in self.stays}
        for part, track in parts:
            stay = by_key[track.been[0][0] or ""]
            yield Past(str(stay.housing_id), max(stay.start, self.row.arrived_on), self.today + _DAY, part)
        for stay in self.stays:
            end = min(stay.end or self.today, self.today)
            if str(stay.pk) not in now and stay.start < end:
                yield Past(str(stay.housing_id), stay.start, end, parts[0][0])

    def _survivors(self) -> tuple[int, ...]:
        if self.sure is None:
            return ()
        age = (self.begins - self.row.hatch_day).days
        prior = figure("losses", "prior_birds")

        def alive(week: int) -> int:
            if week <= age:
                return self.birds
            return max(1, survival.quantile(self.birds, self.programme, age, week, sure, prior))

        sure = self.sure
        return tuple(alive(week) for week in range(0, _AGES, DAYS_PER_WEEK))


def is_fixed(stay: Stay) -> bool:
    """Say whether a computation may not touch a stay: pinned, or against the programme for a recorded reason."""
    return stay.pinned or bool(stay.override_reason.strip())


def _joined(found: Sequence[Track]) -> tuple[Track, ...]:
    """Join birds that have no housing today to the largest part that has one: they are planned together."""
    housed = [track for track in found if track.been[0][0] is not None]
    if not housed or len(housed) == len(found):
        return tuple(found)
    housed[0].birds += sum(track.birds for track in found if track.been[0][0] is None)
    return tuple(housed)


def _up(value: float) -> int:
    return math.ceil(round(value, 3))
