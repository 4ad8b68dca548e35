"""The climate's page: read by all, changed by keepers; and what it changes on the batch page, the board and today."""

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from farm.models import Forecast, Housing, Weather
from farm.services import alerts
from tests.conftest import NOON
from tests.farm.test_weather_service import record
from tests.farm.weather_world import HIGHS, LOWS, day, forecast, months, settle


@pytest.fixture(autouse=True)
def _at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def cara(world, client):
    client.force_login(world.add_member("Cara", "helper").login)
    return client


def typed(**changed):
    values = {f"{name}_{month}": row[month - 1] for name, row in months().items() for month in range(1, 13)}
    return values | changed


def text(answer):
    return " ".join(answer.content.decode().split())


def test_the_settings_lead_to_it(ada):
    assert reverse("climate") in text(ada.get(reverse("settings")))


def test_it_begins_empty_with_usual_spreads_offered(ada):
    answer = ada.get(reverse("climate"))
    assert "Nothing is known of the climate yet." in text(answer)
    form = answer.context["months_form"]
    assert (form["low_sd_c_1"].value(), form["low_mean_c_1"].value()) == (4, None)


def test_twelve_months_are_saved_and_shown_again(ada):
    assert ada.post(reverse("climate-months"), typed()).url == reverse("climate")
    answer = ada.get(reverse("climate"))
    assert answer.context["months_form"]["high_mean_c_7"].value() == HIGHS[6]
    assert "Entered by month." in text(answer)
    assert "Take its chances with care" in text(answer)


def test_a_farm_in_fahrenheit_types_and_reads_fahrenheit(ada, world):
    world.farm.units = "us"
    world.farm.save()
    values = {name: value * 9 / 5 + (32 if "mean" in name else 0) for name, value in typed().items()}
    ada.post(reverse("climate-months"), values)
    assert Weather.objects.get().low_mean_c == pytest.approx(LOWS)
    assert ada.get(reverse("climate")).context["months_form"]["low_mean_c_1"].value() == pytest.approx(24.8)


def test_a_wrong_number_is_named_above_the_table_and_the_others_stay(ada):
    answer = ada.post(reverse("climate-months"), typed(low_mean_c_3="cold", high_mean_c_1="-30"))
    page = text(answer)
    assert "March, Night low, mean (°C): Enter a number." in page
    assert 'value="-30"' in page
    answer = ada.post(reverse("climate-months"), typed(high_mean_c_1="-30"))
    assert "January, Day high, mean" in text(answer)
    assert not Weather.objects.exists()


def test_a_file_teaches_and_its_gaps_are_told(ada):
    lines = record(6).split("\n")
    file = SimpleUploadedFile("days.csv", "\n".join([*lines[:30], *lines[33:]]).encode())
    answer = ada.post(reverse("climate-record"), {"file": file}, follow=True)
    page = text(answer)
    assert "The climate is learned from your record." in page
    assert "3 days between the first and the last are missing" in page
    assert "Take its chances with care" not in page


def test_a_short_record_is_taken_with_a_warning(ada):
    page = text(ada.post(reverse("climate-record"), {"text": record(2)}, follow=True))
    assert "too few years to tell how far single nights stray" in page


def test_what_can_be_read_two_ways_is_asked_with_the_table_still_there(ada):
    table = record(row="{day},{high:.1f},{low:.1f}")
    answer = ada.post(reverse("climate-record"), {"text": table})
    form = answer.context["record_form"]
    assert "Do the two columns change places?" in text(answer)
    assert ("swapped" in form.fields, "order" in form.fields) == (True, False)
    assert form["text"].value() == table
    answer = ada.post(reverse("climate-record"), {"text": table, "swapped": "yes"})
    assert answer.url == reverse("climate")


def test_wrong_rows_are_said_by_number(ada):
    page = text(ada.post(reverse("climate-record"), {"text": record().replace("2020-02-03", "2020-02-31")}))
    assert "Row 35, day:" in page


@pytest.mark.parametrize("sent", [{}, {"text": "   "}, {"text": "hello"}, {"text": "x" * 1_000_001}])
def test_what_is_no_table_is_refused_at_the_box(ada, sent):
    answer = ada.post(reverse("climate-record"), sent)
    assert answer.context["record_form"].errors["text"]


def test_choices_are_in_per_cent(ada, world):
    settle(world)
    ada.post(reverse("climate-choices"), {"sure": "95", "version": Weather.objects.get().version})
    assert Weather.objects.get().confidence == 0.95
    answer = ada.post(reverse("climate-choices"), {"sure": "20", "version": Weather.objects.get().version})
    assert answer.context["choices_form"].errors["sure"]


def test_without_a_contact_the_page_says_why_nothing_is_asked(ada, world, settings):
    settle(world)
    ada.post(reverse("climate-choices"), {"sure": "90", "use_forecast": "on"})
    assert "has not said yet whom the weather service may write to" in text(ada.get(reverse("climate")))
    settings.FORECAST_CONTACT = "ada@example.org"
    assert "No forecast has come yet" in text(ada.get(reverse("climate")))


def test_a_stale_forecast_and_a_failure_are_said_beside_the_credit(ada, world, settings):
    settings.FORECAST_CONTACT = "ada@example.org"
    settle(world)
    forecast(world, {1: 4.0}, error="busy", failures=2)
    page = text(ada.get(reverse("climate")))
    assert "asked for patience" in page
    assert "MET Norway, CC BY 4.0" in page
    Forecast.objects.update(fetched_at=NOON.replace(day=1, month=4))
    assert "It is stale" in text(ada.get(reverse("climate")))


def test_forgetting_asks_first(ada, world):
    settle(world)
    assert Weather.objects.exists()
    form = ada.get(reverse("climate-forget")).context["form"]
    ada.post(reverse("climate-forget"), {"version": form["version"].value()})
    assert not Weather.objects.exists()
    assert ada.get(reverse("climate-forget")).url == reverse("climate")


def test_a_helper_reads_the_numbers_and_finds_no_form(cara, world):
    settle(world)
    page = text(cara.get(reverse("climate")))
    assert "13.0" in page
    assert "<input" not in page.split("<main")[1].split("</main")[0]


@pytest.mark.parametrize("name", ["climate-months", "climate-record", "climate-choices", "climate-forget"])
def test_a_helper_changes_nothing(cara, world, name):
    settle(world)
    version = Weather.objects.get().version
    assert cara.post(reverse(name), typed()).status_code == 403
    assert Weather.objects.get().version == version


def test_the_batch_page_says_when_they_may_go_out_and_why(ada, world):
    world.add_housing("Paddock", kind="paddock", area_m2=90.0, heated=False, indoor=False)
    batch = world.add_batch("Browns", housing="Brooder 1")
    by_age = text(ada.get(reverse("batch", args=[batch.pk])))
    assert "By age alone" in by_age
    settle(world)
    page = text(ada.get(reverse("batch", args=[batch.pk])))
    assert "nights may be too cold for them" in page
    assert "rule of thumb" in page
    assert "Paddock</a>: 0 °C warmer at night than outside:" in page
    assert "take the chances with care" in page


def test_birds_long_out_are_spared_the_dates(ada, world):
    batch = world.add_batch("Hens", age=200, housing="Brooder 1")
    assert "Going out" not in text(ada.get(reverse("batch", args=[batch.pk])))


def test_alerts_stand_on_today_and_on_the_batch_page(ada, world):
    batch = world.add_batch("Greys", age=63, housing="Brooder 2", birds=3)
    settle(world)
    forecast(world, {1: -30.0})
    alerts.refresh(farm_id=world.farm.pk, now=NOON)
    for address in (reverse("today"), reverse("batch", args=[batch.pk])):
        assert "-30 °C is forecast outside" in text(ada.get(address))
    assert "Greys in Brooder 2, cold in the night of 1 May" in text(ada.get(reverse("today")))


def test_the_board_shows_the_nights_only_where_a_climate_is_known(ada, world):
    world.add_batch("Greys", age=63, housing="Brooder 2", birds=3)
    assert "The nights" not in text(ada.get(reverse("board")))
    settle(world)
    forecast(world, dict.fromkeys(range(1, 4), 5.0))
    answer = ada.get(reverse("board"))
    panel = answer.context["nights"]
    assert [line.batch.name for line in panel.lines] == ["Greys"]
    assert len(panel.weeks) == 12
    assert panel.forecast[0][1] == pytest.approx(3 * answer.context["board"].choice.day_width)
    assert "eight nights in ten lie in the band" in text(answer)


def test_a_housing_tells_how_warm_its_nights_are_and_its_light(ada, world):
    pen = world.housing["Pen 1"]
    page = ada.get(reverse("housing-edit", args=[pen.pk]))
    form = page.context["form"]
    sent = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "")}
    sent = {name: value for name, value in sent.items() if value is not False}
    answer = ada.post(reverse("housing-edit", args=[pen.pk]), sent | {"supplement_c": "4.5", "light": "open"})
    assert answer.status_code == 302, answer.context["form"].errors
    pen = Housing.objects.get(pk=pen.pk)
    assert (pen.supplement_c, pen.light) == (4.5, "open")
    answer = ada.post(
        reverse("housing-edit", args=[pen.pk]), sent | {"supplement_c": "30", "version": pen.version}
    )
    assert answer.context["form"].errors["supplement_c"]


def test_a_day_far_from_the_forecast_is_the_climates(world):
    settle(world)
    row = forecast(world, {1: 5.0})
    assert day(1).isoformat() in row.days
