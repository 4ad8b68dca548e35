"""What a farm has only one of, and two acts that want it at once. What is asserted of them: `test_scarce_at_once`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from farm.errors import BadInput, NotFound
from farm.models import (
    Batch,
    ChoreMark,
    FeedEntry,
    HistoryEntry,
    Login,
    Member,
    Pin,
    SentKey,
    Stay,
    Swap,
)
from farm.models.rota import SwapState
from farm.queries import feed_store, heads
from farm.services import (
    chores,
    counts,
    egg_sets,
    feed_entries,
    fillings,
    hatches,
    history,
    machines,
    members,
    offline,
    plans,
    rota,
    stays,
    swaps,
)
from farm.services.offline import Sent
from tests.conftest import NOON, TODAY, World
from tests.farm.feed_world import bought, starter
from tests.farm.judging import day
from tests.farm.orders_world import give, line, take
from tests.farm.rota_world import adult, begin, key, people, rows

Acts = tuple[Callable[[], object], Callable[[], object]]
#: What becomes of the second one where PostgreSQL is left without the lock.
BOTH, ACCIDENT, HELD = "both got it", "an error without a word to the keeper", "told all the same"


@dataclass(frozen=True)
class Race:
    """Two acts on a farm.

    got: what there is afterwards. once: what must come of it. refusal: what the slower one hears; None when the same
    thing sent twice is one thing. unlocked: BOTH, ACCIDENT or HELD; twice: what there is when both got it.
    """

    acts: Callable[[World], Acts]
    got: Callable[[World], Any]
    once: Any
    refusal: type[Exception] | None
    unlocked: str
    twice: Any = None


def birds_that_die(world: World) -> Acts:
    batch = world.add_batch("Browns", birds=12)
    act = lambda: counts.add(world.by, batch_id=batch.pk, kind="died", birds=8, day=TODAY)  # noqa: E731
    return act, act


def room_for_one_batch(world: World) -> Acts:
    place = world.add_housing("Pen 9", one_batch=True).pk
    batches = [world.add_batch(name, birds=12) for name in ("Browns", "Reds")]

    def put(batch: Batch) -> Callable[[], object]:
        asked = {"batch_id": batch.pk, "housing_id": place, "birds": 12, "start": TODAY, "end": None}
        return lambda: stays.add(world.by, **asked)

    return put(batches[0]), put(batches[1])


def cabinet(world: World) -> egg_sets.NewEggSet:
    machine = machines.add(world.by, name="Cabinet", does="both", medium_eggs=60)
    return egg_sets.NewEggSet(programme="chicken_layer_brown", eggs=40, set_on=day(-21), setter_id=machine.pk)


def room_in_a_machine(world: World) -> Acts:
    """Under names of their own, in a farm that has the programme: neither is to keep the two apart."""
    new = cabinet(world)
    world.add_batch("Browns")
    return (
        lambda: egg_sets.set_eggs(world.by, new=replace(new, name="First")),
        lambda: egg_sets.set_eggs(world.by, new=replace(new, name="Second")),
    )


def a_hatch(world: World) -> Acts:
    egg_set = egg_sets.set_eggs(world.by, new=cabinet(world))
    told = {"egg_set_id": egg_set.pk, "day": TODAY, "expected_version": None}
    return (
        lambda: hatches.record(world.by, hatched=20, **told),
        lambda: hatches.record(world.by, hatched=19, **told),
    )


def the_last_bag(world: World) -> Acts:
    feed = starter(world)
    bought(world, feed, 1)
    return (lambda: feed_entries.open_bag(world.by, feed_id=feed.pk, day=TODAY),) * 2


def a_line_taken_back(world: World) -> Acts:
    batch = world.add_batch("Browns", birds=12)
    entry = counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    return (lambda: counts.reverse(world.by, entry_id=entry.pk),) * 2


def a_hand_over_taken_back(world: World) -> Acts:
    batch = world.add_batch("Browns", birds=12)
    filling = give(world, take(world, line(birds=10, from_on=TODAY, to_on=day(3))), batch, 10)
    return (lambda: fillings.take_back(world.by, filling_id=filling.pk),) * 2


def an_entry_undone(world: World) -> Acts:
    batch = world.add_batch("Browns", birds=12)
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    entry = HistoryEntry.objects.order_by("-pk")[0]
    return (lambda: history.undo(world.by, entry_id=entry.pk),) * 2


def a_plan(world: World) -> Acts:
    world.add_housing("Brooder 9", area_m2=9.0)
    world.add_batch("Browns", birds=12, age=2)
    plan = plans.propose(world.by, iterations=3)
    plans.solve_now(world.by, plan_id=plan.pk, now=lambda: NOON, iterations=3)
    return (lambda: plans.adopt(world.by, plan_id=plan.pk, seen_version=None),) * 2


def an_invitation(world: World) -> Acts:
    member = members.add(world.by, name="Hal", role="helper")
    secret = members.invite(world.by, member_id=member.pk)
    logins = [
        Login.objects.create_user(f"{name}.{world.farm.pk}@example.org", "pw") for name in ("hal", "eve")
    ]
    return (
        lambda: members.accept(secret, login=logins[0], now=NOON),
        lambda: members.accept(secret, login=logins[1], now=NOON),
    )


def the_last_keeper(world: World) -> Acts:
    other = world.add_member("Bo", "keeper")
    assert other.member is not None
    own, theirs = world.keeper.pk, other.member.pk
    return (
        lambda: members.leave(world.by, member_id=own),
        lambda: members.leave(other, member_id=theirs),
    )


def an_entry_sent_twice(world: World) -> Acts:
    batch = world.add_batch("Browns", birds=12)
    told = {"batch_id": batch.pk, "kind": "died", "birds": 1, "day": TODAY, "client_key": "phone-1"}
    return (lambda: counts.add(world.by, **told),) * 2


def feed_sent_twice(world: World) -> Acts:
    told = {"feed_id": starter(world).pk, "bags": 1, "day": TODAY, "client_key": "phone-1"}
    return (lambda: feed_entries.buy(world.by, **told),) * 2


def a_tick(world: World) -> Acts:
    told = {"source": "room:1/feed_water", "due": TODAY, "round": "morning", "title": "Feed"}
    return (lambda: chores.mark(world.by, **told),) * 2


def a_tick_by_link(world: World) -> Acts:
    """Over a personal link, from a tab and from the worker behind it: the same key."""
    place = world.add_housing("Brooder 9")
    world.add_batch("Browns", birds=12, housing="Brooder 9")
    sent = [Sent(key="a", kind="tick", source=f"room:{place.pk}/feed_water", due=TODAY, round="morning")]
    return (lambda: offline.accept(world.by, member=world.keeper, sent=sent, over_link=True),) * 2


def with_rota(world: World) -> dict[str, Any]:
    world.add_housing("Brooder 1")
    found = people(world) | {"Dora": adult(world, "Dora")}
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    return found


def a_chore_given(world: World) -> Acts:
    found, look = with_rota(world), key(world, "look", 1)
    return (
        lambda: rota.give(world.by, occurrences=[look], member_id=found["Ben"].member.pk),
        lambda: rota.give(world.by, occurrences=[look], member_id=found["Dora"].member.pk),
    )


def a_round_swapped(world: World) -> Acts:
    found = with_rota(world)
    morning = [each for each in rows(world) if each[1:] == (day(1), "morning")]
    rota.give(world.by, occurrences=morning, member_id=found["Ben"].member.pk)
    first, second = (
        swaps.offer(found["Ben"], taker_id=found[name].member.pk, give=(day(1), "morning"))
        for name in ("Ada", "Dora")
    )
    return (
        lambda: swaps.accept(found["Ada"], swap_id=first.pk),
        lambda: swaps.accept(found["Dora"], swap_id=second.pk),
    )


def alive(world: World) -> int:
    return heads.alive_on(Batch.objects.get(farm=world.farm, name="Browns"), TODAY)


def entries(verb: str) -> Callable[[World], int]:
    return lambda world: HistoryEntry.objects.filter(farm=world.farm, verb=verb).count()


def many(model: Any, **fields: Any) -> Callable[[World], int]:
    return lambda world: model.objects.filter(farm=world.farm, **fields).count()


def kg_left(world: World) -> int:
    return feed_store.grams(list(FeedEntry.objects.filter(farm=world.farm))) // feed_store.GRAMS


RACES = {
    "birds that die": Race(birds_that_die, alive, 4, BadInput, BOTH, -4),
    "room for one batch": Race(room_for_one_batch, many(Stay), 1, BadInput, ACCIDENT),
    "room in a machine": Race(room_in_a_machine, entries("set eggs"), 1, BadInput, BOTH, 2),
    "a hatch": Race(a_hatch, entries("record hatch"), 1, BadInput, BOTH, 2),
    "the last bag": Race(the_last_bag, kg_left, 0, BadInput, BOTH, -25),
    "a line taken back": Race(a_line_taken_back, alive, 12, BadInput, ACCIDENT),
    "a hand-over taken back": Race(a_hand_over_taken_back, alive, 12, NotFound, HELD),
    "an entry undone": Race(an_entry_undone, alive, 12, BadInput, HELD),
    "a plan": Race(a_plan, entries("adopt plan"), 1, BadInput, BOTH, 2),
    "an invitation": Race(an_invitation, entries("accept invitation"), 1, NotFound, BOTH, 2),
    "the last keeper": Race(the_last_keeper, many(Member, left_on=None), 1, BadInput, BOTH, 0),
    "an entry sent twice": Race(an_entry_sent_twice, alive, 11, None, ACCIDENT),
    "feed sent twice": Race(feed_sent_twice, many(FeedEntry), 1, None, ACCIDENT),
    "a tick": Race(a_tick, many(ChoreMark), 1, None, ACCIDENT),
    "a tick by link": Race(a_tick_by_link, many(SentKey), 1, None, ACCIDENT),
    "a chore given": Race(a_chore_given, many(Pin), 1, None, BOTH, 2),
    "a round swapped": Race(a_round_swapped, many(Swap, state=SwapState.ACCEPTED), 1, BadInput, HELD),
}
