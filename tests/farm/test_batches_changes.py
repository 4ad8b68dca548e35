"""Changing a batch: what moves along, what is refused at which field, and who may."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from farm.errors import NotAllowed, NotFound, Stale
from farm.models import Batch, HistoryEntry, Stay
from farm.models.member import Role
from farm.queries import heads, soundness
from farm.services import batches, counts, programmes
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused, version


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks hatched and arrived 14 days ago, in Brooder 1 since then until further notice."""
    return world.add_batch("Browns", housing="Brooder 1")


def change(world: World, batch: Batch, **fields: Any) -> Batch:
    return batches.change(world.by, batch_id=batch.pk, expected_version=None, **fields)


def said(world: World, batch: Batch, **fields: Any) -> dict[str, list[str]]:
    return refused(lambda: change(world, batch, **fields))


def ledger(batch: Batch) -> list[tuple[str, int, date]]:
    return list(batch.count_entries.order_by("pk").values_list("kind", "birds", "day"))


def test_words_are_changed_and_the_version_rises(world: World, browns: Batch):
    changed = change(world, browns, name=" Reds ", breed=" hybrid ", notes="loud", sex="sexed_female")

    assert (changed.name, changed.breed, changed.notes, changed.sex) == (
        "Reds",
        "hybrid",
        "loud",
        "sexed_female",
    )
    assert changed.version == browns.version + 1
    assert newest().summary == "Batch Reds changed"


def test_saving_what_already_stands_leaves_no_history(world: World, browns: Batch):
    told, farm_version = HistoryEntry.objects.count(), version(world.farm)

    assert change(world, browns, name="Browns ", notes="").version == browns.version
    assert (HistoryEntry.objects.count(), version(world.farm)) == (told, farm_version)


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"name": " "}, {"name": ["Give the batch a name."]}),
        ({"hatch_day": day(-13)}, {"arrived_on": ["Birds cannot arrive before they hatch."]}),
        ({"arrived_on": day(-15)}, {"arrived_on": ["Birds cannot arrive before they hatch."]}),
        ({"leaves_on": day(-14)}, {"leaves_on": ["The last day must be after the first."]}),
        (
            {"source": "own_hatch", "hatch_day": day(-15)},
            {"arrived_on": ["An own hatch arrives on its hatch day."]},
        ),
        (
            {"hatch_day": day(-401)},
            {"hatch_day": ["26 March 2025 is more than a year away from today. Check the year."]},
        ),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field(world: World, browns: Batch, fields: dict, expected: dict):
    assert said(world, browns, **fields) == expected


def test_another_batchs_name_is_refused_and_its_own_is_not(world: World, browns: Batch):
    world.add_batch("Reds")

    assert said(world, browns, name="Reds") == {"name": ["Another batch already has this name."]}
    assert change(world, browns, name="Browns", notes="same name").name == "Browns"


def test_a_batch_of_long_ago_may_still_be_renamed(world: World, browns: Batch):
    Batch.objects.filter(pk=browns.pk).update(hatch_day=day(-900), arrived_on=day(-900))

    assert change(world, browns, name="Old hens").name == "Old hens"


def test_a_corrected_arrival_takes_the_first_count_and_the_first_stay_along(world: World, browns: Batch):
    change(world, browns, arrived_on=day(-12))

    assert ledger(browns) == [
        ("arrived", 40, day(-14)),
        ("arrived", 40, day(-12)),
        ("reversed", -40, day(-14)),
    ]
    assert Stay.objects.get().start == day(-12)
    assert heads.alive_on(browns, day(-13)) == 0
    assert soundness.problems(world.farm) == []


def test_an_arrival_moved_ahead_makes_the_stay_planned(world: World, browns: Batch):
    change(world, browns, arrived_on=day(3))

    assert (Stay.objects.get().start, Stay.objects.get().actual) == (day(3), False)


def test_an_arrival_after_birds_were_lost_is_refused(world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=1, day=day(-10))

    assert list(said(world, browns, arrived_on=day(-9))) == ["arrived_on"]
    assert change(world, browns, arrived_on=day(-10)).arrived_on == day(-10)


def test_an_arrival_after_a_stay_is_over_is_refused(world: World):
    batch = world.add_batch("Short", housing="Brooder 1", housing_until=day(-7))

    assert said(world, batch, arrived_on=day(-7)) == {
        "arrived_on": ["A stay of this batch ends before that day. Change the stay first."]
    }


def test_an_arrival_after_a_planned_stay_begins_is_told_at_the_arrival(world: World):
    batch = world.add_batch("Split", housing="Brooder 1", housing_until=day(5))
    Stay.objects.create(
        farm=world.farm, batch=batch, housing=world.housing["Brooder 2"], birds=40, start=day(5), end=day(9)
    )
    Stay.objects.filter(batch=batch, start=day(-14)).delete()

    assert said(world, batch, arrived_on=day(6)) == {"arrived_on": ["The batch only arrives on 7 May 2026."]}


def test_a_later_hatch_day_that_leaves_chicks_without_heat_is_told_at_the_hatch_day(world: World):
    batch = world.add_batch("Browns", age=50, housing="Pen 1", arrived_on=day(-1))

    told = said(world, batch, hatch_day=day(-10))
    assert list(told) == ["hatch_day"]
    assert told["hatch_day"][0].startswith("Pen 1 has no heat, and these birds need it until")


def test_a_stale_form_is_told_what_changed_and_overwrites_nothing(world: World, browns: Batch):
    change(world, browns, name="Reds")

    with pytest.raises(Stale) as caught:
        batches.change(world.by, batch_id=browns.pk, expected_version=browns.version, name="Blues")

    assert caught.value.changes == ["Ada: Batch Reds changed"]
    assert caught.value.version == browns.version + 1
    assert Batch.objects.get().name == "Reds"


def test_a_field_that_is_not_the_keepers_to_set_is_a_mistake_of_ours(world: World, browns: Batch):
    with pytest.raises(TypeError, match="species"):
        change(world, browns, species="duck")


def test_another_farms_batch_is_not_found(world: World, elsewhere: World, browns: Batch):
    with pytest.raises(NotFound):
        change(elsewhere, browns, name="Mine")


@pytest.mark.parametrize("role", [Role.HELPER, Role.CHILD])
def test_only_keepers_change_batches(world: World, browns: Batch, role: str):
    sam = world.add_member("Sam", role)
    own = programmes.copy(world.by, source="chicken_dual", name="Ours").versions.get()

    with pytest.raises(NotAllowed):
        batches.change(sam, batch_id=browns.pk, expected_version=None, name="Sam's")
    with pytest.raises(NotAllowed):
        batches.use_programme(sam, batch_id=browns.pk, version_id=own.pk, expected_version=None)
    assert Batch.objects.get().name == "Browns"


def test_a_batch_follows_another_version_of_its_species_only_on_purpose(world: World, browns: Batch):
    ours = programmes.copy(world.by, source="chicken_dual", name="Ours").versions.get()
    ducks = programmes.copy(world.by, source="duck", name="Ducks").versions.get()

    def follow(number: int) -> Batch:
        return batches.use_programme(world.by, batch_id=browns.pk, version_id=number, expected_version=None)

    assert refused(lambda: follow(ducks.pk)) == {"version": ["This programme is for another species."]}
    moved = follow(ours.pk)
    assert (moved.programme_version, moved.type) == (ours, "dual")
    assert newest().summary == "Batch Browns now follows Ours v1"


def test_today_is_a_day_like_any_other_for_leaving(world: World, browns: Batch):
    assert change(world, browns, leaves_on=TODAY).leaves_on == TODAY
