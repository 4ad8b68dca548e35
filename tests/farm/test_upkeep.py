from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from farm.errors import NotFound
from farm.models import Farm, Invitation
from farm.models.member import Role
from farm.services import members, stays, upkeep
from tests.conftest import NOON, TODAY, World


@pytest.fixture
def planned(world: World) -> World:
    """Birds that move into Pen 1 tomorrow."""
    batch = world.add_batch("Browns", age=50)
    stays.add(
        world.by,
        batch_id=batch.pk,
        housing_id=world.housing["Pen 1"].pk,
        birds=40,
        start=TODAY + timedelta(days=1),
        end=None,
    )
    return world


def actual(world: World) -> bool:
    return world.housing["Pen 1"].stays.get().actual


def test_a_planned_stay_counts_as_happened_from_its_first_local_day(planned: World):
    midnight = datetime(2026, 5, 2, tzinfo=ZoneInfo("Europe/Berlin"))

    assert upkeep.roll_over(farm_id=planned.farm.pk, now=midnight - timedelta(seconds=1)) == 0
    assert not actual(planned)
    assert upkeep.roll_over(farm_id=planned.farm.pk, now=midnight) == 1
    assert actual(planned)


def test_rolling_over_twice_changes_nothing_more(planned: World):
    later = NOON + timedelta(days=2)
    upkeep.roll_over(farm_id=planned.farm.pk, now=later)
    version = Farm.objects.get(pk=planned.farm.pk).version

    assert upkeep.roll_over(farm_id=planned.farm.pk, now=later) == 0
    assert Farm.objects.get(pk=planned.farm.pk).version == version


def test_rolling_over_touches_no_other_farm(planned: World, elsewhere: World):
    assert upkeep.roll_over(farm_id=elsewhere.farm.pk, now=NOON + timedelta(days=2)) == 0
    assert not actual(planned)


def test_a_farm_that_is_gone_is_not_found(db):
    with pytest.raises(NotFound):
        upkeep.roll_over(farm_id=10**9, now=NOON)


def test_only_invitations_that_ran_out_unused_are_cleared(world: World):
    for name in ("Cara", "Dan"):
        member = members.add(world.by, name=name, role=Role.HELPER)
        members.invite(world.by, member_id=member.pk)
    used = Invitation.objects.get(member__name="Dan")
    used.accepted_at = NOON
    used.save()

    assert upkeep.clear_expired(now=NOON + timedelta(days=members.INVITATION_DAYS)) == 0
    assert upkeep.clear_expired(now=NOON + timedelta(days=members.INVITATION_DAYS, seconds=1)) == 1
    assert list(Invitation.objects.all()) == [used]
