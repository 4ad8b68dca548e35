"""Days to wait are the keeper's own, and birds do not go before they are over unless a keeper says why."""

from __future__ import annotations

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import CountEntry, HistoryEntry, WaitingTime
from farm.queries import waits as read
from farm.services import counts, fillings, history, waits
from tests.conftest import TODAY, World
from tests.farm import orders_world
from tests.farm.feed_world import day, on

USUAL = {"what": "wormer", "given_on": day(-2), "days": 7, "product": "meat"}


@pytest.fixture
def browns(world: World):
    return world.add_batch("Browns", age=60, housing="Pen 1", override_reason="warm enough")


def wait(world: World, batch, **fields) -> WaitingTime:
    return waits.add(world.by, batch_id=batch.pk, **(USUAL | fields))


def sold(world: World, batch, by=None, kind="sold", offset=0, **fields):
    return counts.add(by or world.by, batch_id=batch.pk, kind=kind, birds=2, day=day(offset), **fields)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"what": " "}, "what"),
        ({"days": -1}, "days"),
        ({"days": 366}, "days"),
        ({"product": "feathers"}, "product"),
        ({"given_on": day(1)}, "given_on"),
        ({"given_on": day(-61)}, "given_on"),
    ],
)
def test_days_to_wait_that_cannot_be_are_refused_at_their_field(
    world: World, browns, typed: dict, field: str
):
    with pytest.raises(BadInput) as refused:
        wait(world, browns, **typed)

    assert list(refused.value.fields) == [field]
    assert not WaitingTime.objects.exists()


@pytest.mark.parametrize(
    ("product", "kind", "waits_too"),
    [
        ("meat", "sold", True),
        ("meat", "processed", True),
        ("eggs", "sold", True),
        ("eggs", "processed", False),
        ("meat", "died", False),
        ("meat", "culled", False),
    ],
)
def test_birds_that_could_be_eaten_wait(world: World, browns, product: str, kind: str, waits_too: bool):
    wait(world, browns, product=product)

    if waits_too:
        with pytest.raises(BadInput) as refused:
            sold(world, browns, kind=kind)
        assert list(refused.value.fields) == ["override_reason"]
        assert "before 6 May" in str(refused.value)
    else:
        assert sold(world, browns, kind=kind).birds == -2


@pytest.mark.parametrize(("offset", "free"), [(-3, True), (-2, False), (0, False)])
def test_a_wait_binds_from_the_day_it_was_given(world: World, browns, offset: int, free: bool):
    wait(world, browns)

    if free:
        assert sold(world, browns, offset=offset).override_reason == ""
    else:
        with pytest.raises(BadInput):
            sold(world, browns, offset=offset)


def test_the_day_the_wait_is_over_they_may_go(world: World, browns):
    wait(world, browns)

    with pytest.raises(BadInput):
        sold(world, browns, by=on(world, 4), offset=4)
    assert sold(world, browns, by=on(world, 5), offset=5).birds == -2


def test_a_keeper_may_let_them_go_with_a_reason_that_is_kept_and_a_helper_may_not(world: World, browns):
    wait(world, browns)
    helper = world.add_member("Lina", "helper")

    with pytest.raises(NotAllowed):
        sold(world, browns, by=helper, override_reason="vet said so")
    assert (
        sold(world, browns, override_reason=" alive, to a breeder ").override_reason == "alive, to a breeder"
    )
    assert CountEntry.objects.filter(kind="sold").count() == 1


def test_a_reason_that_nothing_asked_for_is_not_kept(world: World, browns):
    assert sold(world, browns, override_reason="just so").override_reason == ""


def test_a_hand_over_waits_too(world: World, browns):
    ordered = orders_world.take(world, orders_world.line(birds=2, from_on=TODAY)).lines.get()
    wait(world, browns)
    give = {"line_id": ordered.pk, "batch_id": browns.pk, "birds": 2, "day": TODAY}

    with pytest.raises(BadInput) as refused:
        fillings.hand_over(world.by, **give)
    assert list(refused.value.fields) == ["override_reason"]

    given = fillings.hand_over(world.by, **give, override_reason="alive, to a breeder")
    assert given.count_entry.override_reason == "alive, to a breeder"


def test_given_again_moves_the_end_and_a_mistake_is_undone(world: World, browns):
    first = wait(world, browns)
    waits.change(world.by, wait_id=first.pk, expected_version=first.version, given_on=TODAY)

    assert [row.allowed_on for row in read.rows(browns, TODAY)] == [day(7)]
    with pytest.raises(Stale):
        waits.change(world.by, wait_id=first.pk, expected_version=first.version, days=1)

    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="change waiting time").pk)
    assert [row.allowed_on for row in read.rows(browns, TODAY)] == [day(5)]


def test_removing_frees_them_and_can_be_undone(world: World, browns):
    waits.remove(world.by, wait_id=wait(world, browns).pk)
    assert sold(world, browns).birds == -2

    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="remove waiting time").pk)
    with pytest.raises(BadInput):
        sold(world, browns)


def test_a_helper_may_enter_but_not_shorten_and_strangers_see_nothing(world: World, elsewhere: World, browns):
    helper = world.add_member("Lina", "helper")
    entered = waits.add(helper, batch_id=browns.pk, **USUAL)

    with pytest.raises(NotAllowed):
        waits.change(helper, wait_id=entered.pk, expected_version=None, days=0)
    with pytest.raises(NotAllowed):
        waits.remove(helper, wait_id=entered.pk)
    with pytest.raises(NotFound):
        waits.add(elsewhere.by, batch_id=browns.pk, **USUAL)
