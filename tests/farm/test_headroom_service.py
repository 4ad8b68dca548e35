"""How many more birds could come: exact with nobody moved, more when others are planned anew, never stale unseen."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from farm.errors import NotFound
from farm.models import Headroom
from farm.planning import headroom as pure
from farm.planning import plan_check, score
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.planning.changes import AddBatch
from farm.planning.yard import Yard
from farm.queries import headroom as table
from farm.queries import planning as rows
from farm.services import counts, headroom, history, housings, programmes
from tests.conftest import NOON, TODAY, World
from tests.farm.plan_cases import Ticking, day


@pytest.fixture
def kept(world: World) -> World:
    """Ten layer chicks in Brooder 1 that leave in 60 days at the age of 74; pens and a second brooder are empty."""
    world.add_batch("Browns", birds=10, age=14, housing="Brooder 1", leaves_on=day(60))
    return world


def refresh(world: World, days: int = 0) -> int:
    return headroom.refresh(farm_id=world.farm.pk, now=NOON + timedelta(days=days))


def cells(world: World) -> list[Headroom]:
    return list(Headroom.objects.filter(farm=world.farm))


def test_the_table_has_every_day_of_a_year_for_every_type_in_use(kept: World):
    kept.add_batch("Ducks", programme="duck", birds=4, age=0, hatch_day=day(30), leaves_on=day(90))

    assert refresh(kept) == 2 * 365

    assert {(cell.type, cell.day) for cell in cells(kept)} == {
        (kind, day(offset)) for kind in ("chicken_layer_brown", "duck") for offset in range(365)
    }


def test_a_type_leaves_at_the_age_the_farms_own_batch_leaves_at(kept: World):
    [kind] = table.types(rows.rows(kept.farm), TODAY)

    assert (kind.key, kind.leave_age_days, kind.age_at_arrival_days) == ("chicken_layer_brown", 74, 0)


def test_a_farms_own_programme_is_a_type_of_its_own(kept: World):
    own = programmes.copy(kept.by, source="duck", name="Our ducks")
    kept.add_batch("Ducks", programme=str(own.pk), birds=4, housing="Brooder 2")

    assert [kind.key for kind in table.types(rows.rows(kept.farm), TODAY)] == [
        str(own.pk),
        "chicken_layer_brown",
    ]


def test_so_many_fit_and_one_more_does_not(kept: World):
    refresh(kept)
    problem = rows.problem(kept.farm, TODAY)
    [kind] = table.types(rows.rows(kept.farm), TODAY)
    cell = Headroom.objects.get(farm=kept.farm, day=day(70))

    def short(birds: int) -> int:
        """Return what such a batch would lack, put in beside the others as they are planned."""
        joined = AddBatch(pure.joining(kind, day(70), birds)).apply(problem)
        return Yard(joined, problem.adopted).attempt(joined.batches[-1], day(70)).short

    assert cell.birds > 0
    assert (short(cell.birds), short(cell.birds + 1) > 0) == (0, True)
    assert cell.binding in {str(room.pk) for room in kept.housing.values()}


def test_the_same_farm_is_worked_out_once(kept: World):
    assert refresh(kept) == 365
    keys = [cell.pk for cell in cells(kept)]

    assert refresh(kept) == 0

    assert [cell.pk for cell in cells(kept)] == keys


def test_what_does_not_touch_the_plan_leaves_the_table_fresh(kept: World):
    refresh(kept)
    kept.add_member("Ben", "helper")
    kept.farm.refresh_from_db()
    assert table.table(kept.farm, TODAY).fresh is False

    assert refresh(kept) == 0

    assert table.table(kept.farm, TODAY).fresh is True


def test_a_loss_makes_the_table_anew(kept: World):
    refresh(kept)
    batch = rows.rows(kept.farm).batches[0]
    counts.add(kept.by, batch_id=batch.pk, kind="died", birds=5, day=TODAY)
    kept.farm.refresh_from_db()

    assert table.table(kept.farm, TODAY).fresh is False
    assert refresh(kept) == 365


def test_tomorrow_the_table_begins_tomorrow(kept: World):
    refresh(kept)

    assert refresh(kept, days=1) == 365
    assert min(cell.day for cell in cells(kept)) == day(1)


def test_days_planned_anew_are_promises_with_a_whole_plan(kept: World):
    kept.add_batch("Small", birds=4, age=10, housing="Brooder 2", leaves_on=day(30))
    refresh(kept)

    left = headroom.refine(farm_id=kept.farm.pk, now=Ticking(), cells=2)

    done = [cell for cell in cells(kept) if cell.replanned_birds is not None]
    shown = table.table(kept.farm, TODAY)
    assert (len(done), shown.done, shown.of) == (2, 2, left + 2)
    problem = rows.problem(kept.farm, TODAY)
    [kind] = table.types(rows.rows(kept.farm), TODAY)
    for cell in done:
        assert cell.replanned_birds >= cell.birds
        if cell.plan:
            promise = solutions.from_json(cell.plan)
            joined = replace(
                AddBatch(pure.joining(kind, cell.day, cell.replanned_birds)).apply(problem),
                adopted=tuple(problem.adopted),
            )
            assert score.bill(joined, promise.plans).shortfall == 0
            faults = plan_check.faults(joined, replace(promise, problem=joined.digest))
            assert [fault for fault in faults if not fault.forced] == []


def test_two_workers_take_different_days(kept: World):
    refresh(kept)
    clock = Ticking()
    first = headroom._take(kept.farm.pk, rows.problem(kept.farm, TODAY).digest, TODAY, clock())
    second = headroom._take(kept.farm.pk, rows.problem(kept.farm, TODAY).digest, TODAY, clock())

    assert first is not None
    assert second is not None
    assert first.pk != second.pk


def test_a_day_whose_worker_died_is_taken_again_after_two_minutes(kept: World):
    refresh(kept)
    digest = rows.problem(kept.farm, TODAY).digest
    first = headroom._take(kept.farm.pk, digest, TODAY, NOON)

    again = headroom._take(kept.farm.pk, digest, TODAY, NOON + timedelta(seconds=121))

    assert first is not None
    assert again == first


def test_a_farm_without_birds_or_housing_has_no_table(world: World):
    assert refresh(world) == 0
    assert headroom.refine(farm_id=world.farm.pk, now=Ticking()) == 0
    assert table.table(world.farm, TODAY).lines == ()


def test_a_farm_that_is_gone_is_not_found(db: None):
    with pytest.raises(NotFound):
        headroom.refresh(farm_id=404, now=NOON)


def test_the_table_keeps_no_housing_from_being_taken_back(kept: World):
    made = kept.add_housing("Spare")
    entry = history_of(kept, made)
    refresh(kept)

    history.undo(kept.by, entry_id=entry)

    assert not type(made).objects.filter(pk=made.pk).exists()


def history_of(world: World, thing: object) -> int:
    from farm.models import HistoryEntry

    return HistoryEntry.objects.get(farm=world.farm, noun="housing", noun_id=thing.pk).pk


def test_a_problem_read_back_is_the_one_the_table_was_made_for(kept: World):
    refresh(kept)
    problem = rows.problem(kept.farm, TODAY)

    assert {cell.problem_digest for cell in cells(kept)} == {problem.digest}
    assert planning.from_json(problem.to_json()).digest == problem.digest
    housings.change(kept.by, housing_id=kept.housing["Pen 1"].pk, expected_version=None, area_m2=2.0)
    assert rows.problem(kept.farm, TODAY).digest != problem.digest
