"""Whatever services did to a farm, an archive of it brings the same farm."""

from __future__ import annotations

from contextlib import suppress

from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import FarmError
from farm.models import Member
from farm.queries import soundness
from farm.services import chores, own_chores
from tests.conftest import TODAY, World, actor, make_world
from tests.farm import archives_world as a
from tests.farm.judging import newest
from tests.farm.orders_world import line, take
from tests.farm.test_hand_overs_any import ACTS, Market, act

MORE = st.tuples(st.sampled_from(["tick", "chore", "house"]), st.integers(0, 6), st.integers(1, 12))


def do(market: Market, what: str, which: int, many: int) -> None:
    by = market.world.by
    if what == "tick":
        source = f"batch:{market.batches[which % 2].pk}/weigh/{many}"
        chores.mark(by, source=source, due=TODAY, round="morning", title=f"Weigh {many}")
    elif what == "chore":
        own_chores.add(by, title=f"Sweep {which}", start=TODAY, minutes=many)
    elif what == "house":
        market.world.add_housing(f"House {which}", area_m2=float(many))
    else:
        act(market, what, which, many)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(acts=st.lists(st.one_of(ACTS, MORE), min_size=1, max_size=14))
def test_whatever_was_done_on_a_farm_it_comes_back_the_same(db: None, acts: list[tuple[str, int, int]]):
    with transaction.atomic():
        world = make_world()
        batches = [world.add_batch(name, birds=20) for name in ("Browns", "Whites")]
        market = Market(world, batches, [take(world, line(birds=8)) for _ in range(3)], newest().pk)
        for each in acts:
            with suppress(FarmError):
                do(market, *each)
        first = a.taken(world)

        farm = a.brought(first)

        keeper = Member.objects.get(farm=farm, login__email=a.EMAIL)
        again = a.taken(World(farm=farm, keeper=keeper, by=actor(farm, keeper)))
        assert a.uncoded(a.without_import(a.told(again))) == a.uncoded(a.told(first))
        assert soundness.problems(farm) == []
        transaction.set_rollback(True)
