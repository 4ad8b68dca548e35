"""Adding, changing and removing housing: every refusal at its field, nothing saved."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import HistoryEntry, Housing, Stay
from farm.queries import soundness
from farm.services import housings, observations, stays
from tests.conftest import TODAY, World


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def refused(world: World, act: Any, **fields: Any) -> dict[str, list[str]]:
    """Return what the service says, having checked that it saved nothing."""
    before = [list(Housing.objects.values()), list(Stay.objects.values()), HistoryEntry.objects.count()]
    with pytest.raises(BadInput) as error:
        act(world.by, **fields)
    assert before == [
        list(Housing.objects.values()),
        list(Stay.objects.values()),
        HistoryEntry.objects.count(),
    ]
    return {name: [str(text) for text in texts] for name, texts in error.value.fields.items()}


def add_refused(world: World, **fields: Any) -> dict[str, list[str]]:
    return refused(world, housings.add, **{"name": "Pen 9", "kind": "pen", "area_m2": 2.0} | fields)


def change_refused(world: World, name: str, **fields: Any) -> dict[str, list[str]]:
    pk = world.housing[name].pk
    return refused(world, housings.change, housing_id=pk, expected_version=None, **fields)


def change(world: World, name: str, **fields: Any) -> Housing:
    pk = world.housing[name].pk
    return housings.change(world.by, housing_id=pk, expected_version=None, **fields)


def test_a_new_housing_stands_last_and_has_a_code_of_its_own(world: World):
    pen = housings.add(world.by, name=" Pen 2 ", kind="pen", area_m2=6.0)

    assert (pen.name, pen.position) == ("Pen 2", 3)
    assert len(pen.code) == 10
    assert Housing.objects.filter(code=pen.code).count() == 1
    assert HistoryEntry.objects.order_by("-pk")[0].summary == "Housing Pen 2 added"


@pytest.mark.parametrize("area", [0.0, -1.0, 5000.1, float("nan"), float("inf")])
def test_a_floor_must_be_a_sensible_area(world: World, area: float):
    assert add_refused(world, area_m2=area) == {"area_m2": ["Enter a floor area above 0, at most 5000 m²."]}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("feeder_cm", -1.0),
        ("drinker_cm", float("nan")),
        ("rest_days", 366),
        ("rest_days", -1),
        ("max_age_gap_days", 61),
    ],
)
def test_a_number_out_of_range_is_refused_at_its_field(world: World, name: str, value: float):
    said = add_refused(world, **{name: value})

    assert list(said) == [name]
    assert said[name][0].startswith("Enter a number from 0 to ")


def test_the_bounds_themselves_are_accepted(world: World):
    pen = housings.add(
        world.by, name="Field", kind="paddock", area_m2=5000.0, rest_days=365, max_age_gap_days=60
    )

    assert (pen.area_m2, pen.rest_days, pen.max_age_gap_days) == (5000.0, 365, 60)


@pytest.mark.parametrize("name", ["", "   "])
def test_a_housing_needs_a_name(world: World, name: str):
    assert add_refused(world, name=name) == {"name": ["Give the housing a name."]}


def test_a_name_is_used_once_on_a_farm(world: World, elsewhere: World):
    elsewhere.add_housing("Pen 9")

    assert add_refused(world, name="Brooder 1 ") == {"name": ["Another housing already has this name."]}
    assert housings.add(world.by, name="Pen 9", kind="pen", area_m2=1.0).name == "Pen 9"


def test_unknown_words_are_refused_at_their_field(world: World):
    assert add_refused(world, species=["chicken", "ostrich"]) == {"species": ["Unknown species: ostrich."]}
    assert list(add_refused(world, kind="castle")) == ["kind"]


def test_service_must_last_a_day_and_not_lie_twenty_years_off(world: World):
    late = "It must be in use for at least a day: enter a later day."

    assert add_refused(world, in_service_from=day(3), in_service_to=day(3)) == {"in_service_to": [late]}
    assert list(add_refused(world, in_service_from=date(1926, 5, 1))) == ["in_service_from"]


def test_several_mistakes_are_told_at_once(world: World):
    assert sorted(add_refused(world, name="", area_m2=0.0, rest_days=400)) == ["area_m2", "name", "rest_days"]


def test_a_stale_form_is_told_what_changed(world: World):
    change(world, "Brooder 1", area_m2=5.0)

    with pytest.raises(Stale) as error:
        housings.change(world.by, housing_id=world.housing["Brooder 1"].pk, expected_version=1, area_m2=6.0)
    assert error.value.changes == ["Ada: Housing Brooder 1 changed"]
    assert Housing.objects.get(name="Brooder 1").area_m2 == 5.0


def test_heat_cannot_be_taken_from_birds_that_need_it(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    said = change_refused(world, "Brooder 1", heated=False)

    assert list(said) == ["heated"]
    assert said["heated"][0].startswith("Browns: Brooder 1 has no heat, and these birds need it until")


def test_heat_can_be_taken_when_the_birds_in_it_are_grown(world: World):
    world.add_batch("Browns", age=42, housing="Brooder 1")

    assert change(world, "Brooder 1", heated=False).heated is False


def test_a_species_that_lives_there_cannot_be_shut_out(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    assert change_refused(world, "Brooder 1", species=["duck"]) == {
        "species": ["Browns: Brooder 1 is not for this species."]
    }


def test_use_cannot_end_before_the_birds_leave(world: World):
    world.add_batch("Browns", housing="Brooder 1", housing_until=day(10))

    assert list(change_refused(world, "Brooder 1", in_service_to=day(9))) == ["in_service_to"]
    assert list(change_refused(world, "Brooder 1", in_service_from=day(1))) == ["in_service_from"]
    assert change(world, "Brooder 1", in_service_to=day(10)).in_service_to == day(10)


def test_stays_that_are_over_bind_nobody(world: World):
    world.add_batch("Browns", housing="Brooder 1", housing_until=TODAY)

    changed = change(world, "Brooder 1", heated=False, species=["duck"], in_service_from=TODAY)

    assert changed.species == ["duck"]


def test_one_batch_at_a_time_is_refused_where_two_live(world: World):
    world.add_batch("Browns", birds=5, housing="Brooder 1")
    world.add_batch("Reds", birds=5, housing="Brooder 1")

    said = change_refused(world, "Brooder 1", one_batch=True)

    assert list(said) == ["one_batch"]
    assert "takes one batch at a time" in said["one_batch"][0]


def test_stays_carry_the_new_rule_of_their_housing(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    change(world, "Brooder 1", one_batch=True)
    assert Stay.objects.get().one_batch is True
    assert soundness.problems(world.farm) == []
    change(world, "Brooder 1", one_batch=False)
    assert Stay.objects.get().one_batch is False


def test_a_rule_that_is_not_touched_is_not_judged_again(world: World):
    world.add_batch("Browns", housing="Brooder 1")
    Housing.objects.filter(name="Brooder 1").update(heated=False)

    assert change(world, "Brooder 1", area_m2=9.0, heated=False).area_m2 == 9.0


def test_an_unused_housing_can_be_removed(world: World):
    housings.remove(world.by, housing_id=world.housing["Pen 1"].pk)

    assert not Housing.objects.filter(name="Pen 1").exists()


def test_a_housing_with_stays_or_records_stays(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    stays.remove(world.by, stay_id=batch.stays.get().pk)
    observations.add(world.by, kind="note", note="draughty", housing_id=world.housing["Pen 1"].pk)
    world.add_batch("Reds", housing="Brooder 2")

    pens = {name: housing.pk for name, housing in world.housing.items()}
    lived = {"": ["Birds live or lived here. Set the day it goes out of use instead."]}
    assert refused(world, housings.remove, housing_id=pens["Brooder 2"]) == lived
    recorded = {"": ["There are records of it. Set the day it goes out of use instead."]}
    assert refused(world, housings.remove, housing_id=pens["Pen 1"]) == recorded
    housings.remove(world.by, housing_id=pens["Brooder 1"])


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_change_housing(world: World, role: str):
    other = world.add_member("Lina", role)

    for act in (
        lambda: housings.add(other, name="X", kind="pen", area_m2=1.0),
        lambda: housings.change(
            other, housing_id=world.housing["Pen 1"].pk, expected_version=None, area_m2=1.0
        ),
        lambda: housings.remove(other, housing_id=world.housing["Pen 1"].pk),
    ):
        with pytest.raises(NotAllowed):
            act()
    assert Housing.objects.get(name="Pen 1").area_m2 == 12.0


def test_another_farms_housing_is_not_found(world: World, elsewhere: World):
    theirs = elsewhere.add_housing("Their pen")

    with pytest.raises(NotFound):
        housings.remove(world.by, housing_id=theirs.pk)
    with pytest.raises(NotFound):
        housings.change(world.by, housing_id=theirs.pk, expected_version=None, area_m2=1.0)
    assert Housing.objects.filter(pk=theirs.pk, area_m2=4.0).exists()
