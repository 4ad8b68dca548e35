"""Plants the scene through the same services a keeper's pages use, each write dated to its own day."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction

from farm.models import Batch, Farm, Housing, Login, Member
from farm.models.history import Face
from farm.planning.window import Window
from farm.queries import agenda
from farm.services import batches, chores, counts, farms, housings, observations, stays, weather
from farm.services.actor import Actor, local_day
from farm.services.demo.plant_eggs import plant_eggs
from farm.services.demo.plant_feed import plant_feed
from farm.services.demo.plant_orders import plant_orders
from farm.services.demo.plant_people import (
    Doers,
    plant_own_chores,
    plant_people,
    share_out,
)
from farm.services.demo.scene import BATCHES, FARM, HOUSING, KEEPER, DemoBatch
from farm.services.demo.scene_weather import CLIMATE
from farm.services.demo.when import at
from farm.wording import say

EMAIL = "demo@example.org"


@dataclass(frozen=True, slots=True)
class Planted:
    """The planted farm and what its keeper signs in with."""

    farm: Farm
    keeper: Member
    by: Actor
    password: str


def plant(*, now: datetime) -> Planted:
    """Plant the demo farm as of `now`, in place of an earlier one. All of it or nothing."""
    with transaction.atomic():
        _clear()
        password = secrets.token_urlsafe(9)
        login = Login.objects.create_user(EMAIL, password, name=KEEPER)
        farm, keeper = farms.start(
            login=login, keeper=KEEPER, now=now, face=Face.COMMAND, is_demo=True, **FARM
        )
        by = Actor(
            farm_id=farm.pk,
            face=Face.COMMAND,
            now=now,
            today=local_day(farm, now),
            member=keeper,
            login=login,
        )
        long_ago = at(by, -70)
        plant_people(long_ago)
        places = {place.name: housings.add(long_ago, name=place.name, **place.fields) for place in HOUSING}
        for scene in BATCHES:
            _live(by, scene, places)
        plant_eggs(by)
        plant_orders(by)
        weather.enter(
            by, months=CLIMATE
        )  # last: stays planned before nights were known are left to the keeper
        plant_feed(by)
        plant_own_chores(by, places)
        _tick_lately(by, farm)
        share_out(by)
    farm.refresh_from_db()
    return Planted(farm=farm, keeper=keeper, by=by, password=password)


def _clear() -> None:
    Farm.objects.filter(is_demo=True).delete()
    Login.objects.filter(email=EMAIL).delete()


def _live(by: Actor, scene: DemoBatch, places: Mapping[str, Housing]) -> None:
    """Start the batch, add its later stays, then what happened to it day by day."""

    def day(offset: int | None) -> date | None:
        return None if offset is None else by.today + timedelta(days=offset)

    then = at(by, min(scene.arrives, -3))
    (first, _start, until), *later = scene.stays
    batch = batches.start(
        then,
        new=batches.NewBatch(
            name=scene.name,
            programme=scene.programme,
            breed=scene.breed,
            birds=scene.birds,
            hatch_day=by.today + timedelta(days=scene.hatched),
            arrived_on=day(scene.arrives),
            leaves_on=day(scene.leaves),
            housing_id=places[first].pk,
            housing_until=day(until),
            **scene.fields,
        ),
    )
    for name, start, end in later:
        stays.add(
            then,
            batch_id=batch.pk,
            housing_id=places[name].pk,
            birds=scene.birds,
            start=by.today + timedelta(days=start),
            end=day(end),
        )
    _happen(by, scene, batch, places)


def _happen(by: Actor, scene: DemoBatch, batch: Batch, places: Mapping[str, Housing]) -> None:
    for offset, birds, kind, note in scene.losses:
        on = at(by, offset)
        counts.add(on, batch_id=batch.pk, kind=kind, birds=birds, day=on.today, note=note)
    for row in scene.seen:
        seen: dict[str, Any] = dict(row)
        on, place = at(by, seen.pop("day")), seen.pop("housing", None)
        observations.add(on, batch_id=batch.pk, housing_id=places[place].pk if place else None, **seen)


def _tick_lately(by: Actor, farm: Farm) -> None:
    """Tick the last days' work, so that today opens with today's and not with a backlog: steps last longer on it."""
    lately, doer = by.today - timedelta(days=3), Doers(farm)
    for item in agenda.for_farm(farm, Window(by.today - timedelta(days=14), 14), by.today):
        if item.kind == "step" or item.due >= lately:
            on = replace(at(by, (item.due - by.today).days), member=doer.of(item))
            source, due, round = item.occurrence
            chores.mark(on, source=source, due=due, round=round, title=say(item.title), minutes=item.minutes)
