"""What pages read of a farm's people: who is there, and which chores may be liked."""

from __future__ import annotations

from datetime import timedelta

from farm.models import OwnChore
from farm.queries import members as reads
from farm.queries import whereabouts
from farm.services import aways, housings, machines, members
from farm.trade.chores import chores
from tests.conftest import NOON, TODAY, World


def test_members_come_with_the_days_they_are_away(world: World):
    finn = members.add(world.by, name="Finn", role="helper")
    away = aways.add(world.by, member_id=finn.pk, start=TODAY, end=TODAY + timedelta(days=1))

    found = {person.member.name: person.away for person in reads.present(world.farm.pk, NOON, TODAY)}

    assert found == {"Ada": (), "Finn": (away,)}
    assert [person.away for person in reads.present(world.farm.pk, NOON)] == [(), ()]


def test_the_tables_chores_come_before_the_farms_own(world: World, elsewhere: World):
    OwnChore.objects.create(farm=elsewhere.farm, title="Theirs", start=TODAY, begun_on=TODAY)
    OwnChore.objects.create(farm=world.farm, title="Over", start=TODAY, begun_on=TODAY, ended_on=TODAY)
    mow = OwnChore.objects.create(farm=world.farm, title="Mow", start=TODAY, begun_on=TODAY)

    found = reads.choices(world.farm.pk)

    assert [choice.key for choice in found] == [*chores(), f"own:{mow.pk}"]
    assert (found[-1].title, found[-1].kind) == ("Mow", "own")
    assert found[0].title == "Feed and water"


def test_places_in_use_are_named_once_and_by_farm(world: World, elsewhere: World):
    for name in ("Brooder 1", "Brooder 2"):
        housings.change(
            world.by, housing_id=world.housing[name].pk, expected_version=None, whereabouts="  barn   loft "
        )
    machines.add(world.by, name="Cabinet", does="both", medium_eggs=60, whereabouts="Attic")
    elsewhere.add_housing("Far pen", whereabouts="meadow")

    assert whereabouts.known(world.farm) == ["Attic", "barn loft"]
