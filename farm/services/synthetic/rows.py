"""An invented farm as records that are not saved yet, linked to each other, table by table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cache
from random import Random
from typing import Any

from django.db import models

from farm.models import (
    Batch,
    ChoreMark,
    CountEntry,
    Farm,
    Filling,
    HistoryEntry,
    Housing,
    Login,
    Member,
    Order,
    OrderLine,
    ProgrammeVersion,
    RearingProgramme,
    Stay,
)
from farm.models.count_entry import CountKind
from farm.models.history import Face
from farm.models.order import OrderStatus
from farm.services import member_rules, programmes
from farm.services.actor import local_day
from farm.services.synthetic.scene import Flock, Scene
from farm.services.synthetic.words import MARKED_DAYS
from farm.trade import chores, load


@dataclass
class Rows:
    """What one farm is made of, and what gives its rows their days and secrets."""

    farm: Farm
    now: datetime
    today: date
    random: Random
    keeper: Member = field(init=False)
    versions: dict[str, ProgrammeVersion] = field(default_factory=dict)
    found: dict[type[models.Model], list[models.Model]] = field(default_factory=dict)
    ticks: list[tuple[Housing, date, str, int]] = field(default_factory=list)

    def add(self, model: type[models.Model], **fields: Any) -> Any:
        """Return a new row of this farm and keep it."""
        row = model(farm=self.farm, **fields)
        self.found.setdefault(model, []).append(row)
        return row


def rows(scene: Scene, login: Login, now: datetime, seed: str) -> Rows:
    """Return the farm of a scene as of `now`, its first keeper with `login`."""
    zone, units, latitude, longitude = scene.site
    farm = Farm(
        name=scene.name,
        time_zone=zone,
        units=units,
        latitude=latitude,
        longitude=longitude,
        is_demo=True,
        version=1,
    )
    made = Rows(farm, now, local_day(farm, now), Random(seed))
    for number, (name, role) in enumerate(scene.people):
        able = member_rules.starting(role)
        member = made.add(Member, name=name, role=role, login=login if number == 0 else None, **able)
        if number == 0:
            made.keeper = member
    for number, flock in enumerate(scene.flocks, start=1):
        _flock(made, scene, flock, number)
    _wait(made, scene)
    made.add(
        HistoryEntry, at=now, member=made.keeper, login=login, face=Face.COMMAND, verb="start farm", noun="",
        summary=f"Farm {farm.name} started (invented)",
    )  # fmt: skip
    return made


def marks(made: Rows) -> list[ChoreMark]:
    """Return the ticks of the last days; their sources name housings, which must be saved."""
    title = chores.chores()["feed_water"].title
    return [
        ChoreMark(
            farm=made.farm,
            source=f"room:{housing.pk}/feed_water",
            due=due,
            round=part,
            state="done",
            title=f"{title}: {housing.name}",
            minutes=minutes,
            member=made.keeper,
            at=made.now,
        )
        for housing, due, part, minutes in made.ticks
    ]


def _flock(made: Rows, scene: Scene, flock: Flock, number: int) -> None:
    version, hatched = _version(made, flock.programme), made.today - timedelta(days=flock.age)
    brooder = _housing(made, f"Brooder {number}", "brooder", flock.brooder_m2, heated=True, one_batch=True)
    pen = _housing(made, f"Pen {number}", "pen", flock.pen_m2, heated=False)
    batch = made.add(
        Batch, name=f"Batch {number}", species=version.programme.species, type=version.programme.type,
        hatch_day=hatched, arrived_on=hatched, programme_version=version,
    )  # fmt: skip
    _ledger(made, batch, flock)
    moves = hatched + timedelta(days=flock.moves_at)
    _stay(made, batch, brooder, flock.birds, hatched, moves)
    _stay(made, batch, pen, flock.alive_at(min(flock.moves_at, flock.age)), moves, None)
    _tick(made, flock, hatched, moves, brooder, pen)
    if flock.sold:
        day = hatched + timedelta(days=flock.sold_at)
        line = _order(made, scene, flock.programme, flock.sold, OrderStatus.FILLED, day)
        entry = _line(made, batch, CountKind.SOLD, -flock.sold, day)
        made.add(
            Filling, line=line, batch=batch, birds=flock.sold, day=day, count_entry=entry,
            member=made.keeper, created_at=made.now,
        )  # fmt: skip


def _ledger(made: Rows, batch: Batch, flock: Flock) -> None:
    _line(made, batch, CountKind.ARRIVED, flock.birds, batch.arrived_on)
    for age, birds, back in flock.losses:
        entry = _line(made, batch, CountKind.DIED, -birds, batch.hatch_day + timedelta(days=age))
        if back:
            _line(made, batch, CountKind.REVERSED, birds, entry.day, reverses=entry)


def _line(made: Rows, batch: Batch, kind: str, birds: int, day: date, **fields: Any) -> CountEntry:
    row: CountEntry = made.add(
        CountEntry, batch=batch, kind=kind, birds=birds, day=day, member=made.keeper, created_at=made.now,
        **fields,
    )  # fmt: skip
    return row


def _stay(made: Rows, batch: Batch, housing: Housing, birds: int, start: date, end: date | None) -> None:
    made.add(
        Stay, batch=batch, housing=housing, birds=birds, start=start, end=end, actual=start <= made.today,
        one_batch=housing.one_batch,
    )  # fmt: skip


def _tick(made: Rows, flock: Flock, hatched: date, moves: date, brooder: Housing, pen: Housing) -> None:
    """Note the rounds behind today as done, where the birds were."""
    chore = chores.chores()["feed_water"]
    for back in range(1, min(MARKED_DAYS, flock.age - 1) + 1):
        day = made.today - timedelta(days=back)
        minutes = round(chore.minutes + chore.minutes_per_50 * flock.alive_at((day - hatched).days) / 50)
        made.ticks += [(brooder if day < moves else pen, day, part, minutes) for part in chore.rounds]


def _wait(made: Rows, scene: Scene) -> None:
    """Let a customer wait for birds of the first flock's kind, some days ahead."""
    if scene.flocks:
        first = made.today + timedelta(days=made.random.randint(1, 30))
        _order(made, scene, scene.flocks[0].programme, scene.waited_for, OrderStatus.CONFIRMED, first)


def _order(made: Rows, scene: Scene, programme: str, birds: int, status: str, day: date) -> OrderLine:
    order = made.add(Order, customer=scene.customer, status=status, ordered_on=min(day, made.today))
    line: OrderLine = made.add(
        OrderLine, order=order, programme=_version(made, programme).programme, birds=birds, age_from_days=0,
        age_to_days=200, from_on=day, to_on=day + timedelta(days=6),
    )  # fmt: skip
    return line


def _housing(made: Rows, name: str, kind: str, area_m2: float, **fields: Any) -> Housing:
    housing: Housing = made.add(
        Housing, name=name, kind=kind, area_m2=area_m2, feeder_cm=round(area_m2 * 60), drinker_cm=round(area_m2 * 25),
        code=_code(made.random), position=len(made.found.get(Housing, [])), **fields,
    )  # fmt: skip
    return housing


def _code(random: Random) -> str:
    """Return what is printed on a housing's card, made as `services.housings` does, but by the seed."""
    return "".join(random.choices("23456789abcdefghjkmnpqrstuvwxyz", k=10))


def _version(made: Rows, key: str) -> ProgrammeVersion:
    """Return the farm's copy of a built-in programme, as it is taken over when first used."""
    if key not in made.versions:
        shipped, (content, digest) = load.programmes()[key], _content(key)
        programme = made.add(
            RearingProgramme, name=shipped.name, species=shipped.species, type=shipped.type, built_in=key
        )
        made.versions[key] = made.add(
            ProgrammeVersion,
            programme=programme,
            number=1,
            content=content,
            digest=digest,
            created_at=made.now,
        )
    return made.versions[key]


@cache
def _content(key: str) -> tuple[Mapping[str, Any], str]:
    content = load.to_dict(load.programmes()[key])
    return content, programmes.digest(content)
