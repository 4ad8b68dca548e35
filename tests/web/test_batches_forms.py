"""Starting and changing a batch on its pages: defaults, refusals at the field, nothing lost from the form."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Stay
from farm.models.member import Role
from farm.services import batches, programmes
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.web.batches_world import counted, errors, text


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def typed(**fields: str) -> dict[str, str]:
    return {
        "name": "Browns",
        "programme": "chicken_layer_brown",
        "birds": "40",
        "hatch_day": "2026-04-29",
        "source": "intake",
        "sex": "straight_run",
    } | fields


def test_the_form_opens_with_a_free_name_today_and_an_empty_brooder(seen: Client, world: World):
    world.add_batch("Batch 2", housing="Brooder 1")

    form = seen.get("/batches/new/").context["form"]

    assert form["name"].value() == "Batch 3"
    assert form["hatch_day"].value() == TODAY
    assert form["source"].value() == "intake"
    assert form["housing_id"].value() == world.housing["Brooder 2"].pk


def test_the_form_opens_with_the_housing_one_came_from(seen: Client, world: World):
    pen = world.housing["Pen 1"].pk

    assert f'<option value="{pen}" selected>' in text(seen.get(f"/batches/new/?housing={pen}"))


def test_programmes_are_grouped_by_species_with_the_farms_own_among_them(seen: Client, world: World):
    own = programmes.copy(world.by, source="duck", name="Our ducks")

    groups = dict(seen.get("/batches/new/").context["form"].fields["programme"].choices[1:])

    assert (str(own.pk), "Our ducks") in groups["ducks"]
    assert [key for key, _name in groups["turkeys"]] == ["turkey_large", "turkey_medium"]


def test_why_a_reason_is_asked_for_stands_beside_its_field(seen: Client, world: World):
    page = text(seen.get("/batches/new/"))

    assert "Only for a place without heat while the programme still asks for it." in page


def test_a_batch_is_started_and_its_page_opens(seen: Client, world: World):
    place = str(world.housing["Brooder 1"].pk)

    answer = seen.post("/batches/new/", typed(housing_id=place, housing_until="2026-06-10"), follow=True)

    batch = Batch.objects.get()
    assert answer.redirect_chain == [(f"/batches/{batch.pk}/", 302)]
    assert "Browns is on the board." in text(answer)
    assert (batch.arrived_on, Stay.objects.get().end) == (day(-2), day(40))


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"name": ""}, {"name": ["This field is required."]}),
        ({"birds": "0"}, {"birds": ["Ensure this value is greater than or equal to 1."]}),
        ({"birds": "many"}, {"birds": ["Enter a whole number."]}),
        ({"programme": ""}, {"programme": ["This field is required."]}),
        ({"hatch_day": "soon"}, {"hatch_day": ["Enter a valid date."]}),
        (
            {"hatch_day": "2062-05-01"},
            {"hatch_day": ["1 May 2062 is more than a year away from today. Check the year."]},
        ),
        ({"arrived_on": "2026-04-28"}, {"arrived_on": ["Birds cannot arrive before they hatch."]}),
        ({"leaves_on": "2026-04-29"}, {"leaves_on": ["The last day must be after the first."]}),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field_and_the_rest_is_kept(
    seen: Client, world: World, fields: dict[str, str], expected: dict[str, Any]
):
    before = counted()

    answer = seen.post("/batches/new/", typed(breed="hybrid", notes="from the fair", **fields))

    assert errors(answer) == expected
    assert counted() == before
    form = answer.context["form"]
    assert (form["breed"].value(), form["notes"].value()) == ("hybrid", "from the fair")
    assert form.unfold is True


def test_a_place_without_heat_is_refused_where_the_reason_can_be_written(seen: Client, world: World):
    pen = str(world.housing["Pen 1"].pk)
    before = counted()

    answer = seen.post("/batches/new/", typed(housing_id=pen))

    assert list(errors(answer)) == ["override_reason"]
    assert counted() == before
    assert "override_reason" in [field.name for field in answer.context["form"].first]
    assert 'Nothing is saved yet. Look again at: <a href="#id_override_reason">' in text(answer)
    seen.post("/batches/new/", typed(housing_id=pen, override_reason="heat plate"))
    assert Stay.objects.get().override_reason == "heat plate"


def test_another_farms_housing_is_no_choice(seen: Client, world: World, elsewhere: World):
    place = elsewhere.add_housing("Theirs")

    answer = seen.post("/batches/new/", typed(housing_id=str(place.pk)))

    assert list(errors(answer)) == ["housing_id"]
    assert not Batch.objects.exists()


def test_the_change_form_shows_what_stands_and_saves_what_is_typed(seen: Client, world: World):
    batch = world.add_batch("Browns", age=2, breed="hybrid")
    address = f"/batches/{batch.pk}/edit/"
    assert seen.get(address).context["form"]["breed"].value() == "hybrid"

    changed = typed(name="Reds", arrived_on="2026-04-29", leaves_on="2026-09-01", version="1")
    answer = seen.post(address, changed, follow=True)

    assert "Saved." in text(answer)
    batch.refresh_from_db()
    assert (batch.name, batch.breed, batch.leaves_on.isoformat()) == ("Reds", "", "2026-09-01")


def test_a_stale_form_keeps_what_was_typed_tells_the_changes_and_can_be_saved_again(
    seen: Client, world: World
):
    batch = world.add_batch("Browns", age=2)
    batches.change(world.by, batch_id=batch.pk, expected_version=1, name="Reds")
    address, mine = f"/batches/{batch.pk}/edit/", typed(name="Blues", arrived_on="2026-04-29")

    answer = seen.post(address, mine | {"version": "1"})

    assert "Ada: Batch Reds changed" in errors(answer)[""]
    assert answer.context["form"]["name"].value() == "Blues"
    assert answer.context["form"]["version"].value() == "2"
    assert Batch.objects.get().name == "Reds"
    seen.post(address, mine | {"version": "2"})
    assert Batch.objects.get().name == "Blues"


@pytest.mark.parametrize("role", [Role.HELPER, Role.CHILD])
def test_only_keepers_open_the_forms(client: Client, world: World, role: str):
    batch = world.add_batch("Browns")
    client.force_login(world.add_member("Sam", role).login)

    for address in ("/batches/new/", f"/batches/{batch.pk}/edit/"):
        assert client.get(address).status_code == 403
        assert client.post(address, typed()).status_code == 403
    assert Batch.objects.get().name == "Browns"


def test_another_farms_batch_is_not_found(seen: Client, elsewhere: World):
    theirs = elsewhere.add_batch("Theirs")

    for address in ("", "edit/", "count/", "observe/"):
        assert seen.get(f"/batches/{theirs.pk}/{address}").status_code == 404
    assert seen.get(f"/counts/{theirs.count_entries.get().pk}/reverse/").status_code == 404
