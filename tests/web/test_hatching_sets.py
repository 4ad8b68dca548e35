"""Setting eggs, looking first, the page of a set, its card, changing and cancelling it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import EggSet
from farm.services import egg_entries, egg_sets, hatches, machines
from tests.conftest import NOON, TODAY, World
from tests.web.hatching_world import cabinet, day, errors, put_in, said, sign_in, written


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def typed(machine: Any, **fields: Any) -> dict[str, Any]:
    usual = {
        "programme": "chicken_layer_brown",
        "eggs": "40",
        "set_on": TODAY.isoformat(),
        "stored_days": "0",
    }
    return usual | {"setter_id": str(machine.pk)} | fields


def test_without_a_machine_the_form_gives_way_to_the_first_incubator(seen: Client, world: World):
    page = seen.get("/hatching/new/")

    assert "Add your first incubator" in said(page)
    assert "<select" not in page.content.decode()


def test_eggs_are_set_and_their_chicks_expected_in_one_press(seen: Client, world: World):
    machine, brooder = cabinet(world), world.housing["Brooder 1"]

    answer = seen.post("/hatching/new/", typed(machine, housing_id=str(brooder.pk), origin="own hens"))

    egg_set = EggSet.objects.get()
    assert answer.url == f"/hatching/{egg_set.pk}/"
    assert (egg_set.eggs, egg_set.origin, egg_set.set_on) == (40, "own hens", TODAY)
    assert egg_set.batch.expected
    assert egg_set.batch.stays.get().housing == brooder


def test_the_hour_is_the_farms_own(seen: Client, world: World):
    machine = cabinet(world)

    seen.post("/hatching/new/", typed(machine, set_hour="23:30"))
    seen.post("/hatching/new/", typed(machine, eggs="9"))

    late, usual = EggSet.objects.order_by("pk")
    assert (late.set_at, late.set_on) == (datetime(2026, 5, 1, 21, 30, tzinfo=UTC), TODAY)  # Berlin in summer
    assert usual.set_at == datetime(2026, 5, 1, 10, 0, tzinfo=UTC)


def test_what_is_refused_stands_at_its_field_and_nothing_is_saved(seen: Client, world: World):
    machine = cabinet(world)
    before = written()

    crowded = seen.post("/hatching/new/", typed(machine, eggs="72"))
    stale = seen.post("/hatching/new/", typed(machine, stored_days="20"))
    nowhere = seen.post("/hatching/new/", typed(machine, setter_id=""))

    assert errors(crowded) == {
        "eggs": ["Cabinet 1 is too full by 12 eggs from 1 May to 23 May, most on 1 May"]
    }
    assert list(errors(stale)) == ["stored_days"]
    assert errors(nowhere) == {"setter_id": ["Choose a machine."]}
    assert written() == before


def test_the_form_starts_with_the_only_machine_and_the_type_set_last(seen: Client, world: World):
    machine = cabinet(world)
    assert seen.get("/hatching/new/").context["form"].initial["setter_id"] == machine.pk

    put_in(world, machine, 9, programme="chicken_meat")
    start = seen.get(f"/hatching/new/?set_on={day(3).isoformat()}").context["form"].initial

    assert (start["programme"], start["set_on"]) == ("chicken_meat", day(3).isoformat())


def test_a_setter_alone_starts_with_the_only_hatcher(seen: Client, world: World):
    machines.add(world.by, name="Setter", does="setter", medium_eggs=90)
    hatcher = machines.add(world.by, name="Hatcher", does="hatcher", medium_eggs=90)

    assert seen.get("/hatching/new/").context["form"].initial["hatcher_id"] == hatcher.pk


def test_looking_first_shows_days_chicks_and_room_and_saves_nothing(seen: Client, world: World):
    machine = cabinet(world)
    put_in(world, machine, 36)
    before = written()

    by_button = seen.post("/hatching/new/", typed(machine, eggs="20", stored_days="9") | {"look": "1"})
    by_htmx = seen.post("/hatching/new/look/", typed(machine, eggs="20", stored_days="9"))

    for answer in (by_button, by_htmx):
        page = said(answer)
        assert "Friday 22 May between 21 May and 23 May" in page
        assert "Cabinet 1: 24 eggs" in page
        assert "Stored 9 days: fewer hatch of eggs older than 7 days." in page
        assert "8 hatches in 10 bring" in page
    assert written() == before
    assert by_button.context["form"]["eggs"].value() == "20"


def test_a_full_machine_names_the_next_day_with_room_for_so_many(seen: Client, world: World):
    machine = cabinet(world, cleaning_days=0)
    put_in(world, machine, 50)

    few = seen.post("/hatching/new/look/", typed(machine, eggs="10")).context["preview"]
    many = seen.post("/hatching/new/look/", typed(machine, eggs="11")).context["preview"]

    assert few.later is None
    assert (many.later[0], many.later[1].eggs) == (day(23), 60)


@pytest.mark.parametrize(
    "wrong",
    [{"programme": ""}, {"programme": "dragon"}, {"programme": "999999"}, {"set_on": "soon"}, {"set_on": ""}],
)
def test_what_cannot_be_read_yet_is_waited_for(seen: Client, world: World, wrong: dict[str, str]):
    answer = seen.post("/hatching/new/look/", typed(cabinet(world), **wrong))

    assert answer.status_code == 200
    assert answer.context["preview"] is None


@pytest.mark.parametrize(
    ("stored", "verdict"), [("7", "fine"), ("8", "late"), ("15", "refused"), ("29", "never"), ("-3", "fine")]
)
def test_storage_is_judged_before_it_is_refused(seen: Client, world: World, stored: str, verdict: str):
    answer = seen.post("/hatching/new/look/", typed(cabinet(world), stored_days=stored))

    assert answer.context["preview"].stored == verdict


def test_the_page_of_a_set_says_where_it_stands_and_what_is_next(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-5), stored_days=8)

    page = said(seen.get(f"/hatching/{egg_set.pk}/"))

    assert "day 5 of 21" in page
    assert "Sunday 3 May Cabinet 1: candle E1, day 7" in page
    assert "Stored 8 days: fewer hatch" in page
    assert "37.8 °C 37.5 °C to 38.1 °C" in page
    assert "Write down a candling" in page
    assert "Record the hatch" not in page


def test_turning_by_hand_has_its_days_and_a_machine_that_turns_has_none(seen: Client, world: World):
    by_hand = put_in(world, cabinet(world, turns_itself=False), 9)
    by_machine = put_in(world, cabinet(world, "Other"), 9)

    assert "turn by hand, 3 times a day" in said(seen.get(f"/hatching/{by_hand.pk}/"))
    assert "turn by hand" not in said(seen.get(f"/hatching/{by_machine.pk}/"))


def test_still_air_is_warmer_and_says_where_it_is_measured(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world, air="still"), 9)

    page = said(seen.get(f"/hatching/{egg_set.pk}/"))

    assert "38.9 °C" in page
    assert "at the egg tops" in page


def test_a_us_farm_reads_fahrenheit(seen: Client, world: World):
    world.farm.units = "us"
    world.farm.save()

    assert "100.0 °F" in said(seen.get(f"/hatching/{put_in(world, cabinet(world), 9).pk}/"))


def test_the_card_carries_days_targets_and_a_code_for_the_set(seen: Client, world: World, settings: Any):
    settings.ADDRESS = "https://farm.example"
    egg_set = put_in(world, cabinet(world), 40)

    answer = seen.get(f"/hatching/{egg_set.pk}/card/")

    page = said(answer)
    assert f"https://farm.example/hatching/{egg_set.pk}/" in page
    assert "Fri 8 May candle, day 7" in page
    assert "37.8 °C" in page
    assert "<svg xmlns" in answer.content.decode() or 'class="qr"' in answer.content.decode()


def test_a_changed_day_moves_what_is_expected(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40)
    form = seen.get(f"/hatching/{egg_set.pk}/edit/").context["form"]
    kept = {name: value for name in form.fields if (value := form[name].value()) is not None}

    answer = seen.post(f"/hatching/{egg_set.pk}/edit/", kept | {"set_on": day(2).isoformat(), "eggs": "50"})

    egg_set.refresh_from_db()
    assert answer.url == f"/hatching/{egg_set.pk}/"
    assert (egg_set.set_on, egg_set.eggs, egg_set.batch.hatch_day) == (day(2), 50, day(23))


def test_saving_the_form_as_it_opened_changes_nothing(seen: Client, world: World):
    machines.add(world.by, name="Hatcher", does="hatcher", medium_eggs=90)
    egg_set = put_in(world, cabinet(world), 40)
    before = written()
    form = seen.get(f"/hatching/{egg_set.pk}/edit/").context["form"]
    kept = {name: form[name].value() for name in form.fields}
    kept["set_hour"] = kept["set_hour"].strftime("%H:%M")

    seen.post(
        f"/hatching/{egg_set.pk}/edit/", {name: value for name, value in kept.items() if value is not None}
    )

    was = egg_set.version
    egg_set.refresh_from_db()
    assert egg_set.version == was
    assert written() == before


def test_a_form_opened_before_somebody_elses_change_is_refused(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40)
    form = seen.get(f"/hatching/{egg_set.pk}/edit/").context["form"]
    kept = {name: value for name in form.fields if (value := form[name].value()) is not None}
    egg_sets.change(world.by, egg_set_id=egg_set.pk, expected_version=egg_set.version, notes="theirs")

    answer = seen.post(f"/hatching/{egg_set.pk}/edit/", kept | {"notes": "mine"})

    assert errors(answer)[""]
    assert EggSet.objects.get().notes == "theirs"


def test_of_a_set_that_hatched_only_words_are_changed(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=30, expected_version=egg_set.version)
    form = seen.get(f"/hatching/{egg_set.pk}/edit/").context["form"]

    assert set(form.fields) == {"name", "storage", "origin", "breed", "notes", "version"}
    seen.post(f"/hatching/{egg_set.pk}/edit/", {"name": "Easter", "version": form["version"].value()})
    assert EggSet.objects.get().name == "Easter"


def test_cancelling_asks_first_and_takes_the_expected_batch_along(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40)
    before = written()

    assert "Cancel egg set E1?" in said(seen.get(f"/hatching/{egg_set.pk}/cancel/"))
    assert written() == before
    answer = seen.post(f"/hatching/{egg_set.pk}/cancel/")

    egg_set.refresh_from_db()
    assert answer.url == "/hatching/"
    assert (egg_set.state, egg_set.batch) == ("cancelled", None)
    page = said(seen.get(f"/hatching/{egg_set.pk}/"))
    assert "cancelled" in page
    assert "Write down a candling" not in page


def test_what_was_found_is_summed_and_listed(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-9))
    egg_entries.record(world.by, egg_set_id=egg_set.pk, counts={"clear": 3, "broken": 1}, day=day(-2))

    page = said(seen.get(f"/hatching/{egg_set.pk}/"))

    assert "Clear (no germ) 3" in page
    assert "Left in 36" in page
    assert "29 Apr: 3 clear (no germ) by Ada" in page
