"""Moving birds: no bird is lost or doubled, the past keeps its numbers, every refusal stands at its field."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput, NotAllowed
from farm.models import Batch, HistoryEntry, Stay
from farm.queries import heads, soundness
from farm.services import counts, stays
from tests.conftest import TODAY, World


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1 since their arrival; Brooder 2 is empty, Pen 1 has no heat."""
    return world.add_batch("Browns", housing="Brooder 1")


def move(world: World, batch: Batch, birds: int, to: str, *, old: str = "Brooder 1", **fields: Any) -> Stay:
    return stays.move(
        fields.pop("by", world.by),
        batch_id=batch.pk,
        from_id=world.housing[old].pk,
        to_id=world.housing[to].pk,
        birds=birds,
        day=fields.pop("on", TODAY),
        **fields,
    )


def where(batch: Batch, on: date) -> dict[str, int]:
    """Return the birds by housing name on a day; birds without housing under ''."""
    held, free = heads.places_on(batch, on)
    found: dict[str, int] = {}
    for stay, birds in held:
        found[stay.housing.name] = found.get(stay.housing.name, 0) + birds
    return found | ({"": free} if free else {})


def refused(world: World, batch: Batch, birds: int, to: str, **fields: Any) -> dict[str, list[str]]:
    """Return what the service says, having checked that it saved nothing."""
    before = list(Stay.objects.values())
    with pytest.raises(BadInput) as error:
        move(world, batch, birds, to, **fields)
    assert list(Stay.objects.values()) == before
    return {name: [str(text) for text in texts] for name, texts in error.value.fields.items()}


def test_the_moved_birds_are_there_from_the_day_on_and_the_rest_stays(world: World, browns: Batch):
    move(world, browns, 25, "Brooder 2")

    assert where(browns, day(-1)) == {"Brooder 1": 40}
    assert where(browns, TODAY) == {"Brooder 1": 15, "Brooder 2": 25}


def test_all_of_them_leave_no_empty_stay_behind(world: World, browns: Batch):
    move(world, browns, 40, "Brooder 2")

    assert where(browns, TODAY) == {"Brooder 2": 40}
    assert Stay.objects.get(housing__name="Brooder 1").end == TODAY


def test_a_move_on_the_first_day_of_a_stay_splits_it(world: World, browns: Batch):
    move(world, browns, 10, "Brooder 2", on=day(-14))

    assert where(browns, day(-14)) == {"Brooder 1": 30, "Brooder 2": 10}


def test_a_move_of_all_on_the_first_day_takes_the_stay_away(world: World, browns: Batch):
    move(world, browns, 40, "Brooder 2", on=day(-14))

    assert [stay.housing.name for stay in Stay.objects.all()] == ["Brooder 2"]


def test_moved_birds_take_over_the_remaining_days(world: World, browns: Batch):
    stays.change(world.by, stay_id=Stay.objects.get().pk, expected_version=None, end=day(20))

    assert move(world, browns, 25, "Brooder 2").end == day(20)


def test_a_planned_move_that_happens_early_starts_its_stay_early(world: World, browns: Batch):
    stays.change(world.by, stay_id=Stay.objects.get().pk, expected_version=None, end=day(20))
    planned = stays.add(
        world.by,
        batch_id=browns.pk,
        housing_id=world.housing["Brooder 2"].pk,
        birds=40,
        start=day(20),
        end=day(50),
    )
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=day(-1))

    moved = move(world, browns, 38, "Brooder 2")

    assert (moved.pk, moved.start, moved.end, moved.birds) == (planned.pk, TODAY, day(50), 38)
    assert moved.actual is True


def test_birds_that_died_that_day_are_not_moved(world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=TODAY)

    assert refused(world, browns, 39, "Brooder 2") == {
        "birds": ["There are 38 in Brooder 1 on 1 May 2026. Enter a number from 1 to 38."]
    }
    move(world, browns, 38, "Brooder 2")
    assert where(browns, TODAY) == {"Brooder 2": 38}


def test_deaths_in_the_old_housing_on_the_day_leave_nobody_without_housing(world: World, browns: Batch):
    brooder = world.housing["Brooder 1"].pk
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=TODAY, housing_id=brooder)

    move(world, browns, 25, "Brooder 2")

    assert where(browns, TODAY) == {"Brooder 1": 13, "Brooder 2": 25}


def test_birds_that_came_back_leave_again_together(world: World, browns: Batch):
    move(world, browns, 25, "Brooder 2", on=day(-5))
    move(world, browns, 10, "Brooder 1", old="Brooder 2", on=day(-3))

    move(world, browns, 25, "Brooder 2")

    assert where(browns, TODAY) == {"Brooder 2": 40}


@pytest.mark.parametrize("birds", [0, -1, 41])
def test_only_birds_that_are_there_can_move(world: World, browns: Batch, birds: int):
    assert list(refused(world, browns, birds, "Brooder 2")) == ["birds"]


def test_an_empty_old_housing_is_refused_at_its_field(world: World, browns: Batch):
    assert refused(world, browns, 5, "Brooder 1", old="Brooder 2") == {
        "from_id": ["No birds of this batch are in Brooder 2 on 1 May 2026."]
    }


def test_birds_cannot_move_to_where_they_are(world: World, browns: Batch):
    assert refused(world, browns, 5, "Brooder 1") == {
        "to_id": ["They are already there. Choose another housing."]
    }


def test_a_mistyped_year_is_refused(world: World, browns: Batch):
    assert list(refused(world, browns, 5, "Brooder 2", on=day(401))) == ["day"]


def test_birds_that_need_heat_move_out_of_it_only_for_a_reason(world: World, browns: Batch):
    assert list(refused(world, browns, 5, "Pen 1")) == ["override_reason"]
    assert move(world, browns, 5, "Pen 1", override_reason=" heat wave ").override_reason == "heat wave"


def test_the_new_housings_rules_are_told_at_the_field_of_the_move(world: World, browns: Batch):
    world.add_housing("Solo", one_batch=True)
    world.add_batch("Reds", birds=5, housing="Solo")
    world.add_housing("Summer", in_service_from=day(1))

    assert list(refused(world, browns, 5, "Solo")) == ["to_id"]
    assert list(refused(world, browns, 5, "Summer")) == ["day"]


def test_the_history_says_who_went_where(world: World, browns: Batch):
    move(world, browns, 25, "Brooder 2", by=world.add_member("Lina", "helper"))

    line = HistoryEntry.objects.order_by("-pk")[0]
    assert line.summary == "Browns: moved 25 from Brooder 1 to Brooder 2 on 1 May 2026"
    assert line.member.name == "Lina"


def test_a_child_does_not_move_birds(world: World, browns: Batch):
    with pytest.raises(NotAllowed):
        move(world, browns, 5, "Brooder 2", by=world.add_member("Emil", "child"))
    assert Stay.objects.count() == 1


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    steps=st.lists(
        st.tuples(st.sampled_from(["Brooder 1", "Brooder 2"]), st.integers(1, 40), st.integers(-13, 5)),
        max_size=6,
    )
)
def test_whatever_moves_no_bird_is_lost_or_doubled(world: World, steps: list[tuple[str, int, int]]):
    Batch.objects.all().delete()
    batch = world.add_batch("Browns", housing="Brooder 1")
    for old, birds, on in steps:
        new = "Brooder 2" if old == "Brooder 1" else "Brooder 1"
        try:
            move(world, batch, birds, new, old=old, on=day(on))
        except BadInput:
            continue
        # All of them are somewhere, every day; nobody fell between two stays.
        for offset in range(-14, 8):
            assert sum(where(batch, day(offset)).values()) == 40
            assert "" not in where(batch, day(offset))
    assert soundness.problems(world.farm) == []
