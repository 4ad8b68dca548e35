"""Whatever small farm there is: adopting a plan leaves it sound, pins and past as they were; undo takes it back."""

from __future__ import annotations

from datetime import date

from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput
from farm.models import Batch, Stay
from farm.planning import plan_check
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.queries import planning as query
from farm.queries import soundness
from farm.services import counts, history
from tests.conftest import TODAY, World, make_world
from tests.farm.plan_cases import adopted, day, lived, plan_stay, solved

PROGRAMMES = ("chicken_layer_brown", "chicken_meat", "duck", "turkey_large")


@st.composite
def farms(draw: st.DrawFn) -> dict:
    """Two to five housings and one to four batches, here or to come, some with planned stays, losses and pins."""
    kinds = st.sampled_from(
        [("brooder", True, True), ("pen", False, True), ("pen", True, True), ("paddock", False, False)]
    )
    rooms = draw(
        st.lists(st.tuples(kinds, st.sampled_from([1.5, 4.0, 9.0]), st.booleans()), min_size=2, max_size=5)
    )
    stays = st.lists(
        st.tuples(
            st.integers(0, len(rooms) - 1),
            st.integers(1, 40),
            st.integers(1, 30),
            st.integers(1, 3),
            st.booleans(),
        ),
        max_size=3,
    )
    batches = draw(
        st.lists(
            st.tuples(
                st.sampled_from(PROGRAMMES),
                st.integers(1, 40),
                st.integers(-30, 50),
                st.one_of(st.none(), st.integers(2, 60)),
                st.one_of(st.none(), st.integers(0, len(rooms) - 1)),
                stays,
                st.integers(0, 3),
            ),
            min_size=1,
            max_size=4,
        )
    )
    return {"rooms": rooms, "batches": batches}


def build(asked: dict) -> World:
    """Return the farm as far as the services let it be; what they refuse is left out."""
    world = make_world()
    for number, ((kind, heated, indoor), area, one) in enumerate(asked["rooms"]):
        world.add_housing(
            f"Room {number}",
            kind=kind,
            heated=heated,
            indoor=indoor,
            area_m2=area,
            one_batch=one,
            rest_days=3,
        )
    for number, (programme, birds, age, more, room, stays, lost) in enumerate(asked["batches"]):
        arrives = max(-age, 0)
        fields = {
            "birds": birds,
            "hatch_day": day(-age),
            "age": 0,
            "programme": programme,
            "leaves_on": None if more is None else day(arrives + more),
        }
        try:
            with transaction.atomic():
                batch = world.add_batch(
                    f"Batch {number}", housing=None if room is None else f"Room {room}", **fields
                )
        except BadInput:
            batch = world.add_batch(f"Batch {number}", **fields)
        for place, start, days, share, pinned in stays:
            try:
                with transaction.atomic():
                    plan_stay(
                        world,
                        batch,
                        f"Room {place}",
                        arrives + start,
                        arrives + start + days,
                        birds=max(1, birds // share),
                        pinned=pinned,
                    )
            except BadInput:
                continue
        if lost and age > 0 and birds > lost:
            counts.add(world.by, batch_id=batch.pk, kind="died", birds=lost, day=TODAY)
    return world


def untouchable(world: World) -> list[tuple]:
    """Return the stays no plan may touch, and those that have ended, as they are stored."""
    rows = Stay.objects.filter(farm=world.farm).order_by("pk")
    return [
        (row.pk, row.housing_id, row.start, row.end, row.birds, row.pinned)
        for row in rows
        if query.is_fixed(row) or (row.end or date.max) <= TODAY
    ]


@given(farms())
@settings(
    max_examples=12,  # each is a farm, a plan, an adoption and an undo
    phases=[Phase.explicit, Phase.reuse, Phase.generate],  # shrinking one would take minutes
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_adopting_any_plan_leaves_a_sound_farm_and_undo_the_farm_it_was(db: None, asked: dict):
    with transaction.atomic():
        world = build(asked)
        before, fixed = lived(world), untouchable(world)
        begun = {row.pk: row.start for row in Stay.objects.filter(farm=world.farm, start__lte=TODAY)}
        plan = solved(world, iterations=6)
        problem, found = planning.from_json(plan.problem), solutions.from_json(plan.solution)
        assert [fault for fault in plan_check.faults(problem, found) if not fault.forced] == []

        try:
            with transaction.atomic():
                entry = adopted(world, plan)
        except BadInput:
            # Only a pin the keeper set against a rule, or against another pin, can make a plan impossible to write.
            assert any(query.is_fixed(row) for row in Stay.objects.filter(farm=world.farm))
            assert lived(world) == before
            transaction.set_rollback(True)
            return

        assert soundness.problems(world.farm) == []
        assert untouchable(world)[: len(fixed)] == fixed
        assert {pk: Stay.objects.get(pk=pk).start for pk in begun} == begun
        assert_lived_as_planned(world, problem, found)
        if entry is not None:
            history.undo(world.by, entry_id=entry.pk)
            assert lived(world) == before
            assert soundness.problems(world.farm) == []
        transaction.set_rollback(True)


def assert_lived_as_planned(world: World, problem: planning.Problem, found: solutions.Solution) -> None:
    """Say that what the farm's stays now plan costs what the plan said, where pins left it free."""
    if problem.pins:
        return
    again = query.problem(world.farm, TODAY)
    assert Batch.objects.filter(farm=world.farm).count() >= len(again.batches)
    for plan in again.adopted:
        assert places(plan) == places(found.by_batch[plan.batch])


def places(plan: solutions.BatchPlan) -> dict[tuple[str | None, date], int]:
    """Return the birds of a batch by housing on every day, from the day after the plan was made."""
    birds: dict[tuple[str | None, date], int] = {}
    for part in plan.parts:
        for stay in part.stays:
            for offset in range((min(stay.end, day(200)) - stay.start).days):
                on = date.fromordinal(stay.start.toordinal() + offset)
                if on > TODAY:
                    birds[stay.housing, on] = birds.get((stay.housing, on), 0) + part.birds
    return birds
