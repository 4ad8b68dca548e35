"""People decide who does what at the same moment, and beside the rota being worked out, on real connections."""

from __future__ import annotations

import pytest

from farm.models import Assignment, Pin, Swap
from farm.models.rota import SwapState
from farm.planning import rota as engine
from farm.queries import rota as reads
from farm.services import rota, swaps
from tests.conftest import NOON, TODAY, World, make_world
from tests.farm.judging import day
from tests.farm.rota_world import adult, begin, key, people, refresh, rows
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def who(transactional_db: None, monkeypatch: pytest.MonkeyPatch):
    """Ada, Ben, Cara and Dora with a rota of a week."""
    monkeypatch.setattr(rota, "STEPS", 2_000)
    world = make_world()
    world.add_housing("Brooder 1")
    found = people(world) | {"Dora": adult(world, "Dora")}
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    return world, found


def sound(world: World) -> None:
    """Nobody sits twice, no seat has two, and no rule is broken."""
    seats = list(Assignment.objects.values_list("source", "due", "round", "seat"))
    assert len(seats) == len(set(seats))
    asked = reads.problem(world.farm, TODAY)
    assert engine.check(asked, asked.previous) == ()


def test_a_chore_given_to_two_at_once_is_one_persons(who):
    world, found = who
    look = key(world, "look", 1)
    raised = at_once(
        *(
            lambda by=found[name]: rota.give(world.by, occurrences=[look], member_id=by.member.pk)
            for name in ("Ben", "Dora")
        )
    )
    assert raised == [None, None]
    (pin,) = Pin.objects.all()
    assert rows(world)[look] == (pin.member_id,)
    sound(world)


def test_what_is_given_while_the_rota_is_worked_out_is_not_overwritten(who):
    world, found = who
    evening = [k for k in rows(world) if k[1:] == (day(2), "evening")]
    world.add_housing("Shed")  # the rota is to be worked out anew
    raised = at_once(
        lambda: rota.refresh(farm_id=world.farm.pk, now=NOON),
        lambda: rota.give(world.by, occurrences=evening, member_id=found["Dora"].member.pk),
    )
    assert raised == [None, None]
    assert {rows(world)[k] for k in evening} == {(found["Dora"].member.pk,)}
    refresh(world)
    assert {rows(world)[k] for k in evening} == {(found["Dora"].member.pk,)}
    sound(world)


def test_a_rota_worked_out_by_two_at_once_is_one_rota(who):
    world, _ = who
    world.add_batch("Reds", housing="Brooder 1", birds=20)
    raised = at_once(*(lambda: rota.refresh(farm_id=world.farm.pk, now=NOON) for _ in range(2)))
    assert raised == [None, None]
    sound(world)
    assert refresh(world) == 0


def offered(world: World, found) -> tuple[Swap, Swap]:
    """Ben offers his round to Ada and to Dora."""
    morning = [k for k in rows(world) if k[1:] == (day(1), "morning")]
    rota.give(world.by, occurrences=morning, member_id=found["Ben"].member.pk)
    first, second = (
        swaps.offer(found["Ben"], taker_id=found[name].member.pk, give=(day(1), "morning"))
        for name in ("Ada", "Dora")
    )
    return first, second


def test_two_who_accept_the_same_round_at_once_do_not_both_get_it(who):
    world, found = who
    first, second = offered(world, found)
    raised = at_once(
        lambda: swaps.accept(found["Ada"], swap_id=first.pk),
        lambda: swaps.accept(found["Dora"], swap_id=second.pk),
    )
    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    states = sorted(Swap.objects.values_list("state", flat=True))
    assert states == [SwapState.ACCEPTED, SwapState.WITHDRAWN]
    taker = Swap.objects.get(state=SwapState.ACCEPTED).taker_id
    assert {people for k, people in rows(world).items() if k[1:] == (day(1), "morning")} == {(taker,)}
    sound(world)


def test_accepted_from_two_devices_at_once_it_is_accepted_once(who):
    world, found = who
    first, _ = offered(world, found)
    raised = at_once(*(lambda: swaps.accept(found["Ada"], swap_id=first.pk) for _ in range(2)))
    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    sound(world)


def test_accepted_and_given_to_another_at_once_nothing_is_done_by_two(who):
    world, found = who
    first, _ = offered(world, found)
    morning = [k for k in rows(world) if k[1:] == (day(1), "morning")]
    raised = at_once(
        lambda: swaps.accept(found["Ada"], swap_id=first.pk),
        lambda: rota.give(world.by, occurrences=morning, member_id=found["Dora"].member.pk),
    )
    assert raised[1] is None
    assert {rows(world)[k] for k in morning} == {(found["Dora"].member.pk,)}
    sound(world)
