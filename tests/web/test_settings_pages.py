"""The farm's settings: a keeper changes them, the others read them, and a new time zone is asked twice."""

from datetime import time

import pytest
from django.test import override_settings
from django.urls import reverse

from farm.models import Farm, HistoryEntry, Login
from farm.services import farms, observations


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


def typed(world, **fields):
    farm = Farm.objects.get(pk=world.farm.pk)
    return {
        "version": farm.version,
        "name": farm.name,
        "time_zone": farm.time_zone,
        "units": farm.units,
        "first_weekday": farm.first_weekday,
        "latitude": "",
        "longitude": "",
        "morning_at": "07:00",
        "midday_at": "12:30",
        "evening_at": "18:30",
    } | fields


def save(client, world, **fields):
    return client.post(reverse("settings"), typed(world, **fields))


def test_every_setting_is_shown_with_its_value(world, ada):
    form = ada.get(reverse("settings")).context["form"]
    assert form["name"].value() == "Hollow Farm"
    assert form["time_zone"].value() == "Europe/Berlin"
    assert form["version"].value() == Farm.objects.get(pk=world.farm.pk).version
    assert 'type="time" name="morning_at" value="07:00"' in " ".join(str(form["morning_at"]).split())


def test_saving_changes_the_farm_and_says_so(world, ada):
    answer = save(
        ada,
        world,
        name="Low Farm",
        units="us",
        first_weekday="6",
        latitude="52.5",
        longitude="13.4",
        evening_at="20:15",
    )
    assert answer.url == reverse("settings")
    farm = Farm.objects.get(pk=world.farm.pk)
    assert (farm.name, farm.units, farm.first_weekday) == ("Low Farm", "us", 6)
    assert (farm.latitude, farm.longitude, farm.evening_at) == (52.5, 13.4, time(20, 15))
    assert "The settings are saved." in ada.get(reverse("settings")).content.decode()


@pytest.mark.parametrize(
    "field, value",
    [
        ("name", ""),
        ("time_zone", "Atlantis"),
        ("units", "cubits"),
        ("first_weekday", "9"),
        ("latitude", "91"),
        ("longitude", "-180.5"),
        ("morning_at", "25:00"),
        ("midday_at", "06:00"),
        ("evening_at", "noon"),
    ],
)
def test_what_cannot_be_right_is_refused_at_its_field_and_the_rest_is_kept(world, ada, field, value):
    both = {"latitude": "50", "longitude": "10"}
    answer = save(ada, world, **({"units": "us", **both} | {field: value}))
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == value
    stored = Farm.objects.get(pk=world.farm.pk)
    assert (stored.units, stored.latitude, stored.name) == ("metric", None, "Hollow Farm")


def test_half_a_place_is_refused_at_the_half_that_is_missing(world, ada):
    assert list(save(ada, world, latitude="52.5").context["form"].errors) == ["longitude"]


def test_the_tick_box_appears_only_when_a_new_zone_asks_for_it(world, ada):
    batch = world.add_batch("Reds", housing="Brooder 1")
    observations.add(world.by, kind="temperature", batch_id=batch.pk, value=33.0)
    assert 'name="move_days"' not in ada.get(reverse("settings")).content.decode()
    asked = save(ada, world, time_zone="Asia/Tokyo")
    assert 'name="move_days"' in asked.content.decode()
    assert Farm.objects.get(pk=world.farm.pk).time_zone == "Europe/Berlin"
    assert save(ada, world, time_zone="Asia/Tokyo", move_days="on").status_code == 302
    assert Farm.objects.get(pk=world.farm.pk).time_zone == "Asia/Tokyo"


def test_a_zone_that_is_none_does_not_ask_for_the_tick(world, ada):
    batch = world.add_batch("Reds", housing="Brooder 1")
    observations.add(world.by, kind="temperature", batch_id=batch.pk, value=33.0)
    assert 'name="move_days"' not in save(ada, world, time_zone="Atlantis").content.decode()


def test_settings_saved_by_somebody_else_meanwhile_are_listed_and_can_then_be_saved_over(world, ada):
    opened = typed(world, name="High Farm")
    farms.change(world.by, name="Low Farm")
    refused = ada.post(reverse("settings"), opened)
    page = refused.content.decode()
    assert "Nothing was overwritten" in page
    assert "Ada: Farm settings changed" in page
    assert Farm.objects.get(pk=world.farm.pk).name == "Low Farm"
    form = refused.context["form"]
    again = ada.post(reverse("settings"), opened | {"version": form["version"].value()})
    assert again.status_code == 302
    assert Farm.objects.get(pk=world.farm.pk).name == "High Farm"


@pytest.mark.parametrize("role", ["helper", "child"])
def test_others_read_the_settings_and_change_nothing(world, client, role):
    client.force_login(world.add_member("Kim", role).login)
    page = client.get(reverse("settings")).content.decode()
    assert "Only a keeper changes these." in page
    assert "Europe/Berlin" in page
    assert 'name="time_zone"' not in page
    assert save(client, world, name="Mine").status_code == 403
    assert Farm.objects.get(pk=world.farm.pk).name == "Hollow Farm"


def test_the_settings_lead_to_people_programmes_import_and_password(world, ada):
    page = ada.get(reverse("settings")).content.decode()
    for name in ("members", "my-reminders", "programmes", "import", "password-change", "start-farm"):
        assert f'href="{reverse(name)}"' in page


def test_strangers_see_no_settings(client, db):
    assert client.get(reverse("settings")).url == "/login/?next=/settings/"


def test_with_one_language_no_choice_is_offered(world, ada):
    assert 'name="language"' not in ada.get(reverse("settings")).content.decode()


@override_settings(LANGUAGES=[("en", "English"), ("de", "Deutsch")])
def test_a_language_is_kept_with_the_login_and_spoken_on_the_next_page(world, ada):
    before = HistoryEntry.objects.count()
    assert ada.post(reverse("language"), {"language": "de"}).url == reverse("settings")
    assert Login.objects.get(pk=world.keeper.login_id).language == "de"
    answer = ada.get(reverse("settings"), headers={"accept-language": "en"})
    assert '<html lang="de">' in answer.content.decode()
    assert answer["Content-Language"] == "de"
    assert HistoryEntry.objects.count() == before


@override_settings(LANGUAGES=[("en", "English"), ("de", "Deutsch")])
def test_without_a_choice_the_browser_decides(world, ada):
    answer = ada.get(reverse("settings"), headers={"accept-language": "de"})
    assert '<html lang="de">' in answer.content.decode()


def test_a_chosen_language_that_is_no_longer_offered_is_passed_over(world, ada):
    Login.objects.update(language="de")
    assert '<html lang="en">' in ada.get(reverse("settings")).content.decode()


@override_settings(LANGUAGES=[("en", "English"), ("de", "Deutsch")])
def test_a_language_that_is_not_offered_is_refused(world, ada):
    answer = ada.post(reverse("language"), {"language": "tlh"})
    assert list(answer.context["language_form"].errors) == ["language"]
    assert Login.objects.get(pk=world.keeper.login_id).language == ""
