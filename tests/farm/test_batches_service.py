"""Starting a batch: what it makes, and what each wrong field is told, with nothing saved."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from farm.errors import NotAllowed, NotFound
from farm.models import Batch, CountEntry, HistoryEntry, Stay
from farm.models.batch import BatchSource
from farm.models.member import Role
from farm.services import batches, programmes
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused


def typed(**fields: Any) -> batches.NewBatch:
    new = batches.NewBatch(name="Browns", programme="chicken_layer_brown", hatch_day=day(-2), birds=40)
    return replace(new, **fields)


def said(world: World, **fields: Any) -> dict[str, list[str]]:
    return refused(lambda: batches.start(world.by, new=typed(**fields)))


def test_a_batch_starts_with_its_species_its_first_count_and_its_first_stay(world: World):
    place = world.housing["Brooder 1"].pk
    new = typed(arrived_on=day(-1), housing_id=place, housing_until=day(20), leaves_on=day(90))

    batch = batches.start(world.by, new=new)

    assert (batch.species, batch.type) == ("chicken", "layer")
    assert (batch.hatch_day, batch.arrived_on) == (day(-2), day(-1))
    entry = CountEntry.objects.get()
    assert (entry.kind, entry.birds, entry.day, entry.member) == ("arrived", 40, day(-1), world.keeper)
    stay = Stay.objects.get()
    assert (stay.birds, stay.start, stay.end, stay.actual) == (40, day(-1), day(20), True)
    assert stay.housing_id == place


def test_starting_a_batch_is_one_line_of_history(world: World):
    before = HistoryEntry.objects.count()

    batch = batches.start(world.by, new=typed(housing_id=world.housing["Brooder 1"].pk))

    assert HistoryEntry.objects.count() == before + 1
    assert newest().summary == "Batch Browns started: 40 birds, hatched 29 April 2026"
    assert (newest().noun, newest().noun_id, newest().verb) == ("batch", batch.pk, "start batch")
    assert [change.model for change in newest().changes.all()] == ["batch", "countentry", "stay"]


def test_an_own_hatch_is_counted_as_hatched(world: World):
    batches.start(world.by, new=typed(source=BatchSource.OWN_HATCH))

    assert CountEntry.objects.get().kind == "hatched"


def test_without_an_arrival_the_birds_arrive_on_their_hatch_day(world: World):
    assert batches.start(world.by, new=typed()).arrived_on == day(-2)


def test_a_batch_still_to_come_has_a_planned_stay_until_it_leaves(world: World):
    new = typed(hatch_day=day(5), housing_id=world.housing["Brooder 1"].pk, leaves_on=day(60))
    batches.start(world.by, new=new)

    stay = Stay.objects.get()
    assert (stay.start, stay.end, stay.actual) == (day(5), day(60), False)


def test_spaces_around_words_are_dropped(world: World):
    batch = batches.start(world.by, new=typed(name="  Browns ", breed=" hybrid "))

    assert (batch.name, batch.breed) == ("Browns", "hybrid")


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"name": "  "}, {"name": ["Give the batch a name."]}),
        ({"birds": 0}, {"birds": ["Enter a number from 1 to 5000."]}),
        ({"birds": -3}, {"birds": ["Enter a number from 1 to 5000."]}),
        ({"birds": 5001}, {"birds": ["Enter a number from 1 to 5000."]}),
        ({"programme": "dragon"}, {"programme": ["Choose a species and type."]}),
        ({"programme": ""}, {"programme": ["Choose a species and type."]}),
        ({"arrived_on": day(-3)}, {"arrived_on": ["Birds cannot arrive before they hatch."]}),
        ({"leaves_on": day(-2)}, {"leaves_on": ["The last day must be after the first."]}),
        (
            {"source": BatchSource.OWN_HATCH, "arrived_on": TODAY},
            {"arrived_on": ["An own hatch arrives on its hatch day."]},
        ),
        (
            {"arrived_on": day(401)},
            {"arrived_on": ["6 June 2027 is more than a year away from today. Check the year."]},
        ),
        (
            {"leaves_on": day(401)},
            {"leaves_on": ["6 June 2027 is more than a year away from today. Check the year."]},
        ),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field(world: World, fields: dict, expected: dict):
    assert said(world, **fields) == expected


@pytest.mark.parametrize("offset", [-401, 401])
def test_a_hatch_day_more_than_400_days_away_is_taken_for_a_slip(world: World, offset: int):
    told = said(world, hatch_day=day(offset))

    assert "is more than a year away from today. Check the year." in told["hatch_day"][0]


@pytest.mark.parametrize("offset", [-400, 400])
def test_a_hatch_day_400_days_away_is_taken(world: World, offset: int):
    assert batches.start(world.by, new=typed(hatch_day=day(offset))).hatch_day == day(offset)


def test_several_mistakes_are_told_at_once(world: World):
    assert sorted(said(world, name="", birds=0, arrived_on=day(-9), leaves_on=day(-9))) == [
        "arrived_on",
        "birds",
        "leaves_on",
        "name",
    ]


def test_two_batches_of_a_farm_never_share_a_name(world: World):
    world.add_batch("Browns")

    assert said(world, name="Browns ") == {"name": ["Another batch already has this name."]}


def test_another_farm_may_use_the_same_name(world: World, elsewhere: World):
    elsewhere.add_batch("Browns")

    assert batches.start(world.by, new=typed()).name == "Browns"


def test_a_name_that_is_too_long_is_told_at_its_field(world: World):
    assert list(said(world, name="x" * 61)) == ["name"]


def test_another_farms_programme_or_housing_is_not_found(world: World, elsewhere: World):
    theirs = programmes.copy(elsewhere.by, source="duck", name="Their ducks")
    place = elsewhere.add_housing("Their brooder")

    for fields in ({"programme": str(theirs.pk)}, {"housing_id": place.pk}):
        with pytest.raises(NotFound):
            batches.start(world.by, new=typed(**fields))
    assert not Batch.objects.filter(farm=world.farm).exists()


@pytest.mark.parametrize("role", [Role.HELPER, Role.CHILD])
def test_only_keepers_start_batches(world: World, role: str):
    with pytest.raises(NotAllowed, match="Only a keeper"):
        batches.start(world.add_member("Sam", role), new=typed())
    assert not Batch.objects.exists()
