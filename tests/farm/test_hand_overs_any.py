"""Whatever is handed over, taken back, lost, changed and undone, in any order: what the records say stays right."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput, FarmError
from farm.models import Batch, Filling, HistoryEntry, Order, OrderLine
from farm.queries import heads, soundness
from farm.services import counts, fillings, history, holds, orders
from tests.conftest import TODAY, World, make_world
from tests.farm.judging import day, newest
from tests.farm.orders_world import again, give, line, take

ACTS = st.tuples(
    st.sampled_from(["give", "give", "give", "back", "reverse", "die", "hold", "birds", "status", "undo"]),
    st.integers(0, 6),
    st.integers(1, 12),
)


@dataclass
class Market:
    """A farm with two batches of 20 and three orders for 8 birds each. begun: the last entry of the history by then."""

    world: World
    batches: list[Batch]
    orders: list[Order]
    begun: int


def act(market: Market, what: str, which: int, birds: int) -> None:
    """Do one thing to one of what there is; nothing where there is none of it."""
    world, batch, order = market.world, market.batches[which % 2], market.orders[which % 3]
    order.refresh_from_db()
    known = list(Filling.objects.order_by("pk"))
    if what == "give":
        give(world, order, batch, birds, anyway=which > 4)
    elif what == "back" and known:
        fillings.take_back(world.by, filling_id=known[which % len(known)].pk)
    elif what == "reverse" and known:
        counts.reverse(world.by, entry_id=known[which % len(known)].count_entry_id)
    elif what == "die":
        counts.add(world.by, batch_id=batch.pk, kind="died", birds=birds, day=TODAY)
    elif what == "hold":
        holds.add(world.by, batch_id=batch.pk, birds=birds)
    elif what == "birds":
        lines = [again(order.lines.get(), birds=birds)]
        orders.change(world.by, order_id=order.pk, expected_version=order.version, lines=lines)
    elif what == "status":
        wanted = ["quote", "confirmed", "filled", "cancelled"][which % 4]
        orders.set_status(world.by, order_id=order.pk, status=wanted, expected_version=None)
    elif what == "undo":
        done = list(HistoryEntry.objects.filter(pk__gt=market.begun).order_by("-pk")[: which + 1])
        if done:
            history.undo(world.by, entry_id=done[-1].pk)


def check(market: Market) -> None:
    """Judge the whole farm by rules said here anew."""
    assert soundness.problems(market.world.farm) == []
    for batch in market.batches:
        batch.refresh_from_db()
        sold = sum(filling.birds for filling in Filling.objects.filter(batch=batch))
        died = -sum(
            entry.birds for entry in batch.count_entries.all() if entry.kind == "died" and not _off(entry)
        )
        assert heads.alive_on(batch, TODAY) == 20 - sold - died
    for row in OrderLine.objects.select_related("order"):
        given_ = sum(filling.birds for filling in row.fillings.all())
        assert given_ <= row.birds
        assert row.order.status != "filled" or given_ > 0
        assert row.order.status != "confirmed" or given_ < row.birds


def _off(entry: Any) -> bool:
    """Say whether a line is taken back, and that not taken back again."""
    return hasattr(entry, "reversed_by") and not _off(entry.reversed_by)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(acts=st.lists(ACTS, min_size=1, max_size=14))
def test_whatever_is_done_the_ledger_and_the_orders_agree(db: None, acts: list[tuple[str, int, int]]):
    with transaction.atomic():
        world = make_world()
        batches = [world.add_batch(name, birds=20) for name in ("Browns", "Whites")]
        taken = [take(world, line(birds=8)) for _ in range(3)]
        market = Market(world, batches, taken, newest().pk)
        for each in acts:
            with suppress(FarmError):
                act(market, *each)
            check(market)
        transaction.set_rollback(True)


OTHERS = st.tuples(
    st.integers(1, 15),
    st.sampled_from([1, 2, 3]),
    st.sampled_from(["any", "female", "male"]),
    st.integers(0, 5),
)


def most_given(world: World, order: Order, batch: Batch) -> int:
    """Return the most birds the order can get, found by trying each number from 1 on; nothing is left behind."""
    for birds in range(1, 21):
        with transaction.atomic():
            try:
                give(world, order, batch, birds)
            except FarmError:
                return birds - 1
            finally:
                transaction.set_rollback(True)
    return 20


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    alive=st.integers(1, 30),
    held=st.lists(st.tuples(st.integers(1, 8), st.sampled_from(["any", "female", "male"])), max_size=2),
    others=st.lists(OTHERS, max_size=3),
    sex=st.sampled_from(["any", "female"]),
)
def test_what_is_said_to_be_left_is_what_can_be_handed_over(
    db: None, alive: int, held: list[tuple[int, str]], others: list[tuple[int, int, str, int]], sex: str
):
    with transaction.atomic():
        world = make_world()
        batch = world.add_batch("Browns", birds=alive)
        for birds, which in held:
            with suppress(FarmError):
                holds.add(world.by, batch_id=batch.pk, birds=birds, sex=which)
        for birds, priority, which, ahead in others:
            take(world, line(birds=birds, sex=which, from_on=day(ahead), to_on=day(9)), priority=priority)
        order = take(world, line(birds=20, sex=sex))
        try:
            give(world, order, batch, 20)
        except BadInput as refused:
            said = str(refused)
            told = int(said.split()[0])
            assert told == most_given(world, order, batch)
            assert said.split(" of ")[0] == ("1 bird" if told == 1 else f"{told} birds")
        else:
            assert alive >= 20 + sum(hold.birds for hold in batch.holds.all() if hold.sex in ("any", sex))
        transaction.set_rollback(True)
