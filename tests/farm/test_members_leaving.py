"""What ends when somebody leaves: all that only a member who is there can have, and nothing that was done."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.errors import BadInput, NotFound
from farm.models import Assignment, Away, Change, Channel, ChoreMark, Member, Pin, Postponement, Swap
from farm.services import members, personal_links
from tests.conftest import NOON, TODAY, World

YESTERDAY, TOMORROW = TODAY - timedelta(days=1), TODAY + timedelta(days=1)


@pytest.fixture
def hal(world: World) -> Member:
    return world.add_member("Hal", "helper").member


def chore(day, source: str = "room:1/look") -> dict:
    return {"source": source, "due": day, "round": "morning"}


def leave(world: World, member: Member) -> None:
    members.leave(world.by, member_id=member.pk)


def test_personal_links_are_switched_off(world: World, hal: Member):
    secret = personal_links.make(world.by, member_id=hal.pk, label="phone")
    leave(world, hal)

    with pytest.raises(NotFound):
        personal_links.opened(secret, now=NOON)
    assert hal.personal_links.get().revoked_at == NOON


def test_the_rota_keeps_what_was_and_frees_what_is_to_come(world: World, hal: Member):
    for day in (YESTERDAY, TODAY, TOMORROW):
        Assignment.objects.create(farm=world.farm, member=hal, day=day, **chore(day))
        Pin.objects.create(farm=world.farm, member=hal, **chore(day))
    leave(world, hal)

    assert [row.day for row in Assignment.objects.all()] == [YESTERDAY]
    assert [row.due for row in Pin.objects.all()] == [YESTERDAY]


def test_a_decision_about_a_chore_put_off_to_tomorrow_goes_too(world: World, hal: Member):
    Pin.objects.create(farm=world.farm, member=hal, **chore(YESTERDAY))
    Postponement.objects.create(farm=world.farm, to_due=TOMORROW, to_round="evening", **chore(YESTERDAY))
    leave(world, hal)

    assert not Pin.objects.exists()


def test_others_keep_their_chores(world: World, hal: Member):
    Assignment.objects.create(farm=world.farm, member=world.keeper, day=TOMORROW, **chore(TOMORROW))
    Pin.objects.create(farm=world.farm, member=world.keeper, **chore(TOMORROW))
    leave(world, hal)

    assert (Assignment.objects.count(), Pin.objects.count()) == (1, 1)


@pytest.mark.parametrize("giving", [True, False])
def test_offers_of_swaps_end_and_accepted_ones_stay(world: World, hal: Member, giving: bool):
    pair = (hal, world.keeper) if giving else (world.keeper, hal)
    common = {
        "farm": world.farm,
        "giver": pair[0],
        "taker": pair[1],
        "give_round": "morning",
        "offered_at": NOON,
    }
    Swap.objects.create(give_day=TODAY, state="accepted", **common)
    Swap.objects.create(give_day=TOMORROW, **common)
    leave(world, hal)

    assert [swap.state for swap in Swap.objects.order_by("give_day")] == ["accepted", "withdrawn"]


def test_nobody_is_reached_any_more_and_the_history_holds_no_address(world: World, hal: Member):
    Channel.objects.create(farm=world.farm, member=hal, kind="email", label="h…@…", address="sealed-words")
    leave(world, hal)

    assert not Channel.objects.exists()
    assert not any("sealed-words" in str([row.before, row.after]) for row in Change.objects.all())


def test_what_was_done_stays_done(world: World, hal: Member):
    mark = ChoreMark.objects.create(
        farm=world.farm, state="done", title="Look", member=hal, at=NOON, **chore(YESTERDAY)
    )
    Away.objects.create(farm=world.farm, member=hal, start=YESTERDAY, end=TODAY)
    leave(world, hal)

    mark.refresh_from_db()
    assert mark.member == hal
    assert Away.objects.count() == 1


def test_a_keeper_who_may_not_leave_loses_nothing(world: World):
    secret = personal_links.make(world.by, member_id=world.keeper.pk, label="phone")
    Pin.objects.create(farm=world.farm, member=world.keeper, **chore(TOMORROW))

    with pytest.raises(BadInput):
        leave(world, world.keeper)

    assert personal_links.opened(secret, now=NOON).member == world.keeper
    assert Pin.objects.count() == 1
