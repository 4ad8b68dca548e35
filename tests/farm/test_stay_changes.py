"""Changing and removing stays that are there already."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from farm.errors import BadInput, NotAllowed, Stale
from farm.models import Batch, HistoryEntry, Housing, Stay
from farm.queries import heads
from farm.services import counts, stays
from tests.conftest import TODAY, World


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


@pytest.fixture
def stay(world: World) -> Stay:
    """40 chicks, 14 days old, in Brooder 1 since their arrival, until further notice."""
    world.add_batch("Browns", housing="Brooder 1")
    return Stay.objects.get()


def change(world: World, stay: Stay, **fields: Any) -> Stay:
    return stays.change(world.by, stay_id=stay.pk, expected_version=None, **fields)


def refused(world: World, stay: Stay, **fields: Any) -> dict[str, list[str]]:
    """Return what the service says, having checked that it saved nothing."""
    before = list(Stay.objects.values())
    with pytest.raises(BadInput) as error:
        change(world, stay, **fields)
    assert list(Stay.objects.values()) == before
    return {name: [str(text) for text in texts] for name, texts in error.value.fields.items()}


def test_a_changed_stay_rises_in_version_and_is_told(world: World, stay: Stay):
    changed = change(world, stay, end=day(30))

    assert (changed.end, changed.version) == (day(30), 2)
    assert HistoryEntry.objects.order_by("-pk")[0].verb == "change stay"


def test_saving_a_stay_as_it_is_changes_nothing(world: World, stay: Stay):
    before = HistoryEntry.objects.count()

    assert change(world, stay, birds=40, end=None).version == 1
    assert HistoryEntry.objects.count() == before


def test_a_stale_form_is_told_what_changed(world: World, stay: Stay):
    change(world, stay, end=day(30))

    with pytest.raises(Stale) as error:
        stays.change(world.by, stay_id=stay.pk, expected_version=1, end=day(40))

    assert error.value.changes == ["Ada: Browns: 40 in Brooder 1 from 17 April 2026 until 31 May 2026"]
    assert Stay.objects.get().end == day(30)


def test_an_end_before_the_start_is_refused_at_its_field(world: World, stay: Stay):
    assert refused(world, stay, end=day(-14)) == {"end": ["A stay must end after it starts."]}


def test_more_birds_than_the_batch_has_are_refused(world: World, stay: Stay):
    assert refused(world, stay, birds=41) == {"birds": ["The batch has only 40 birds on 17 April 2026."]}


def test_a_move_into_a_taken_one_batch_housing_is_refused_in_words(world: World, stay: Stay):
    world.add_housing("Solo", one_batch=True)
    world.add_batch("Reds", birds=5, housing="Solo")

    said = refused(world, stay, housing_id=world.housing["Solo"].pk)

    assert said == {"housing_id": ["Solo takes one batch at a time, and Reds is there on 17 April 2026."]}


def test_a_change_of_housing_takes_the_new_ones_rule_along(world: World, stay: Stay):
    world.add_housing("Solo", one_batch=True)

    assert change(world, stay, housing_id=world.housing["Solo"].pk).one_batch is True


def test_a_stay_put_off_until_tomorrow_is_planned_again(world: World, stay: Stay):
    assert change(world, stay, start=day(1)).actual is False


def test_a_stay_of_hens_from_years_ago_can_still_be_ended(world: World, stay: Stay):
    long_ago = day(-900)
    Batch.objects.update(hatch_day=long_ago, arrived_on=long_ago)
    stay.batch.count_entries.update(day=long_ago)
    Stay.objects.update(start=long_ago)

    assert change(world, stay, end=day(3)).end == day(3)


def test_what_was_already_so_is_not_judged_again(world: World, stay: Stay):
    # The brooder went out of use for the weeks before; the stay in it was real all the same.
    Housing.objects.filter(name="Brooder 1").update(in_service_from=day(-5))

    assert change(world, stay, end=day(3)).end == day(3)


def test_days_a_stay_is_prolonged_into_are_judged(world: World, stay: Stay):
    change(world, stay, end=day(-2))
    poults = world.add_batch("Poults", birds=5, programme="turkey_large", housing="Brooder 2")
    Stay.objects.filter(batch=poults).update(housing=world.housing["Brooder 1"], start=day(-1))

    assert list(refused(world, stay, end=TODAY)) == ["housing_id"]


def test_losses_that_shrank_a_planned_stay_never_block_another_edit(world: World, stay: Stay):
    change(world, stay, end=day(28))
    later = stays.add(
        world.by,
        batch_id=stay.batch_id,
        housing_id=world.housing["Pen 1"].pk,
        birds=40,
        start=day(28),
        end=None,
    )
    counts.add(world.by, batch_id=stay.batch_id, kind="died", birds=2, day=TODAY)

    stay.refresh_from_db()
    assert change(world, later, end=day(60)).birds == 40
    assert heads.on(later, day(28)) == 38


def test_a_removed_stay_leaves_its_birds_without_housing(world: World, stay: Stay):
    stays.remove(world.by, stay_id=stay.pk)

    assert heads.places_on(stay.batch, TODAY) == ([], 40)
    assert HistoryEntry.objects.order_by("-pk")[0].summary == (
        "Removed: Browns: 40 in Brooder 1 from 17 April 2026"
    )


def test_a_helper_neither_changes_nor_removes_stays(world: World, stay: Stay):
    helper = world.add_member("Lina", "helper")

    with pytest.raises(NotAllowed):
        stays.change(helper, stay_id=stay.pk, expected_version=None, birds=1)
    with pytest.raises(NotAllowed):
        stays.remove(helper, stay_id=stay.pk)
    assert Stay.objects.get().birds == 40
