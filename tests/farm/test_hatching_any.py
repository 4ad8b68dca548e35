"""Work with eggs, chicks to come, counts and undo in any order: the farm stays sound, birds and eggs add up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from farm.errors import FarmError
from farm.models import Batch, EggSet, HistoryEntry, Intake, Machine
from farm.models.egg_set import EggKind
from farm.planning.window import Window
from farm.queries import agenda, hatching, heads, occupancy, planning, soundness
from farm.services import counts, egg_entries, egg_sets, hatches, history, intakes, stays, upkeep
from tests.conftest import World, make_world
from tests.farm.egg_world import at, cabinet, chicks_from, day, on, put_in

#: (what, which of them, a number, a day, a housing)
STEPS = st.lists(
    st.tuples(
        st.sampled_from(
            [
                *("set", "set", "candle", "change", "cancel", "hatch", "hatch", "hatch"),
                *("expect", "due", "arrive", "drop", "stay", "move", "die", "undo", "undo", "night"),
            ]
        ),
        st.integers(0, 3),
        st.integers(0, 35),
        st.integers(0, 4),
        st.sampled_from(["Brooder 1", "Brooder 2", "Pen 1", None]),
    ),
    min_size=6,
    max_size=16,
)
Step = tuple[str, int, int, int, str | None]


def pick(model: Any, which: int) -> Any:
    """Return one row of a model, the same for the same number; None without any."""
    found = list(model.objects.order_by("pk"))
    return found[which % len(found)] if found else None


def acts(world: World, step: Step) -> dict[str, Callable[[], object]]:
    """Return what each kind of step would do now."""
    _what, which, number, offset, place = step
    by, housing = on(world, offset), world.housing[place].pk if place else None
    machine, egg_set, intake, batch = (pick(model, which) for model in (Machine, EggSet, Intake, Batch))
    eggs, chicks, birds = (row.pk if row else 0 for row in (egg_set, intake, batch))
    entry = HistoryEntry.objects.order_by("-pk")[which]
    free = {"expected_version": None}
    return {
        "set": lambda: put_in(
            world, machine or cabinet(world), number, set_on=day(offset - 22), housing_id=housing
        ),
        "candle": lambda: egg_entries.record(
            by, egg_set_id=eggs, counts={"clear": number % 9, "broken": which}, day=by.today
        ),
        "change": lambda: egg_sets.change(
            by, egg_set_id=eggs, eggs=number + 5, set_on=day(offset - 20), **free
        ),
        "cancel": lambda: egg_sets.cancel(by, egg_set_id=eggs),
        "hatch": lambda: hatches.record(
            by,
            egg_set_id=eggs,
            day=by.today,
            hatched=number % 25,
            culled=which % 2,
            housing_id=housing,
            **free,
        ),
        "expect": lambda: chicks_from(world, number, due=offset, housing_id=housing),
        "due": lambda: intakes.change(by, intake_id=chicks, due_on=day(offset + 2), ordered=number, **free),
        "arrive": lambda: intakes.arrive(
            by, intake_id=chicks, arrived_at=at(offset), alive=number, dead=which, **free
        ),
        "drop": lambda: intakes.cancel(by, intake_id=chicks),
        "stay": lambda: stays.add(
            by,
            batch_id=birds,
            housing_id=housing or 0,
            birds=number,
            start=day(offset * 20),
            end=None,
            pinned=which > 1,
        ),
        "move": lambda: stays.move(
            by,
            batch_id=birds,
            from_id=world.housing["Brooder 1"].pk,
            to_id=housing or 0,
            birds=number,
            day=day(offset * 20),
        ),
        "die": lambda: counts.add(by, batch_id=birds, kind="died", birds=1 + which, day=by.today),
        "undo": lambda: history.undo(by, entry_id=entry.pk),
        "night": lambda: upkeep.roll_over(farm_id=world.farm.pk, now=by.now),
    }


def assert_adds_up(world: World) -> None:
    """Say that the farm is sound and that every reader still reads it."""
    assert soundness.problems(world.farm) == []
    assert hatching.conflicts(world.farm) == ()
    for egg_set in EggSet.objects.all():
        found = hatching.results_of(egg_set)
        assert sum(found.values()) - found.get(EggKind.CULLED, 0) + hatching.left_of(egg_set) == egg_set.eggs
    window = Window(day(0), 60)
    sheet = occupancy.for_farm(world.farm, window, day(0))
    for batch in Batch.objects.all():
        held = sum(int(part.birds[45]) for part in sheet.occupancy.parts if part.group == str(batch.pk))
        free = sheet.unhoused.get(str(batch.pk))  # a batch that is gone is not on the board
        assert held + (0 if free is None else int(free[45])) == heads.alive_on(batch, day(45))
    agenda.for_farm(world.farm, window, day(0))
    planning.problem(world.farm, day(0))


@given(STEPS)
@settings(
    max_examples=15,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_any_work_with_eggs_in_any_order_leaves_a_sound_farm(db: None, steps: list[Step]):
    with transaction.atomic():
        world = make_world()
        world.add_housing("Brooder 1")
        world.add_housing("Brooder 2", area_m2=2.0, one_batch=True)
        world.add_housing("Pen 1", kind="pen", area_m2=12.0, heated=False)
        place = world.housing["Brooder 1"].pk
        for number in range(3):
            put_in(world, cabinet(world, f"Cabinet {number}"), 40, set_on=day(-21), housing_id=place)
        chicks_from(world, 40, due=1, housing_id=place)
        for step in steps:
            try:
                with transaction.atomic():
                    acts(world, step)[step[0]]()
            except FarmError:
                continue  # refused: nothing was saved
            assert_adds_up(world)
        transaction.set_rollback(True)
