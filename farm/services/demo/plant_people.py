"""Plants the demo's family, their own chores and the rota."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from farm.models import Farm, Housing, Member
from farm.planning.agenda import Item
from farm.queries import rounds
from farm.services import aways, members, own_chores, rota
from farm.services.actor import Actor
from farm.services.demo.scene_people import AWAY, KEEPER_FIELDS, MEMBERS, OWN_CHORES
from farm.services.demo.when import at, day


def plant_people(long_ago: Actor) -> None:
    """Plant the family of the keeper who started the farm."""
    keeper = long_ago.member
    assert keeper is not None
    members.change(
        long_ago,
        member_id=keeper.pk,
        expected_version=None,
        name=keeper.name,
        role=keeper.role,
        **KEEPER_FIELDS,
    )
    for name, role, fields in MEMBERS:
        members.add(long_ago, name=name, role=role, **fields)


class Doers:
    """Deals out what was done before the rota began: to whoever was there, may do it, and had done least."""

    def __init__(self, farm: Farm) -> None:
        self.minutes = dict.fromkeys(Member.objects.filter(farm=farm), 0.0)

    def of(self, item: Item) -> Member:
        """Return who did an item."""
        able = [
            member
            for member in self.minutes
            if rounds.may_do(member, item) and member.is_there(item.due.weekday(), item.round)
        ] or [member for member in self.minutes if rounds.may_do(member, item)]
        doer = min(able, key=lambda member: (self.minutes[member], member.pk))
        self.minutes[doer] += item.minutes * 100 / max(doer.share, 1)
        return doer


def plant_own_chores(by: Actor, places: Mapping[str, Housing]) -> None:
    """Plant the chores that no table has."""
    for scene in OWN_CHORES:
        own_chores.add(
            at(by, scene.start),
            title=scene.title,
            start=by.today + timedelta(days=scene.start),
            repeat=scene.repeat,
            housing_id=places[scene.housing].pk if scene.housing else None,
            **scene.fields,
        )


def share_out(by: Actor) -> None:
    """Share the coming weeks' work among the family."""
    for name, first, back, note in AWAY:
        member = Member.objects.get(farm_id=by.farm_id, name=name)
        aways.add(by, member_id=member.pk, start=day(by, first), end=day(by, back), note=note)
    rota.start(by, weeks=4)
    rota.refresh(farm_id=by.farm_id, now=by.now)
