"""Reading programmes: every figure with its source, curves with their words, copying, and who may."""

import pytest
import time_machine

from farm.models import ProgrammeVersion, RearingProgramme
from farm.services import programmes
from farm.trade import load
from farm.trade.programme import CURVES
from farm.trade.sources import sources
from tests.conftest import NOON


@pytest.fixture
def browser(world, client):
    """The keeper's browser on the world's own day."""
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def text(answer):
    return answer.content.decode()


def test_the_list_has_every_built_in_programme_and_the_farms_own(browser, world):
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    page = text(browser.get("/settings/programmes/"))
    for programme in load.programmes().values():
        assert f'/settings/programmes/{programme.key}/">{programme.name}</a>' in page
    assert f'/settings/programmes/{own.pk}/">Our ducks</a>' in page


@pytest.mark.parametrize("key", sorted(load.programmes()))
def test_every_built_in_programme_shows_six_curves_and_every_figure(browser, key):
    answer = browser.get(f"/settings/programmes/{key}/")
    programme = load.programmes()[key]
    assert text(answer).count("<svg") == 6
    shown = {table.key: len(table.rows) for table in answer.context["curves"]}
    assert shown == {name: len(knots) for name, knots in programme.curves.items()}
    assert len(answer.context["rules"].rows) == len(programme.rules)


def test_looking_at_a_built_in_programme_writes_nothing(browser, world):
    browser.get("/settings/programmes/duck/")
    assert not RearingProgramme.objects.exists()


def test_a_confirmed_source_is_a_link_and_an_unconfirmed_one_is_not(browser):
    for key in load.programmes():
        page = text(browser.get(f"/settings/programmes/{key}/"))
        for source in sources().values():
            if source.address and not source.confirmed:
                assert f'href="https://{source.address}"' not in page
    assert f'href="https://{sources()["PSU2023"].address}"' in text(
        browser.get("/settings/programmes/chicken_layer_brown/")
    )


def test_a_source_is_said_with_publisher_title_and_year(browser):
    page = text(browser.get("/settings/programmes/chicken_layer_brown/"))
    assert "Penn State Extension. Poultry Cannibalism: Prevention and Treatment (2023)" in page


def test_the_two_labels_are_said_in_plain_words(browser):
    page = text(browser.get("/settings/programmes/chicken_layer_brown/"))
    assert "our judgement: check it against your own birds" in page
    assert "project default" not in page


def test_each_curve_has_words_for_those_who_do_not_see_it(browser):
    answer = browser.get("/settings/programmes/chicken_layer_brown/")
    temperature = answer.context["charts"][0]
    assert temperature.summary == "at back height: 35 °C at hatch, 21.1 °C at 6 weeks"
    assert f'<desc id="chart-temperature-words">{temperature.summary}</desc>' in text(answer)


def test_a_us_farm_reads_them_in_its_own_units(browser, world):
    world.farm.units = "us"
    world.farm.save()
    answer = browser.get("/settings/programmes/chicken_layer_brown/")
    table = next(table for table in answer.context["curves"] if table.key == "temp_c")
    assert table.rows[0].value == "95.0 °F"
    assert answer.context["charts"][0].summary.startswith("at back height: 95 °F at hatch")


def test_every_curve_of_the_tables_has_a_plain_name():
    from farm.web.programmes.labels import CURVE_MEASURES, RULE_MEASURES

    assert set(CURVE_MEASURES) == set(CURVES)
    assert all("_" not in measure.label for measure in (*CURVE_MEASURES.values(), *RULE_MEASURES.values()))


def test_copying_opens_the_copy_for_editing(browser, world):
    answer = browser.post("/settings/programmes/duck/copy/", {"name": "Our ducks"})
    own = RearingProgramme.objects.get(edited=True)
    assert answer["Location"] == f"/settings/programmes/{own.pk}/edit/"
    assert (own.name, own.farm) == ("Our ducks", world.farm)


def test_a_name_taken_already_is_refused_at_the_name_and_kept(browser, world):
    programmes.copy(world.by, source="duck", name="Our ducks")
    answer = browser.post("/settings/programmes/goose/copy/", {"name": "Our ducks"})
    assert "Another programme already has this name." in text(answer)
    assert answer.context["form"]["name"].value() == "Our ducks"
    assert RearingProgramme.objects.filter(edited=True).count() == 1


def test_an_older_version_is_shown_as_such_and_says_what_changed_since(browser, world):
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    content = ProgrammeVersion.objects.get(programme=own).content
    content["rules"]["litter_depth_cm"] = {"value": 12.0, "source": "this farm's own figure"}
    programmes.edit(world.by, programme_id=own.pk, content=content, note="deeper", expected_number=1)
    assert "This is an older version." in text(browser.get(f"/settings/programmes/{own.pk}/?version=1"))
    newest = browser.get(f"/settings/programmes/{own.pk}/")
    (change,) = newest.context["changes"]
    assert change.label == "Bedding depth"
    assert change.after == "12 cm (this farm's own figure)"


@pytest.mark.parametrize("key", ["dodo", "999999", "1e3", "duck-"])
def test_an_unknown_programme_is_not_found(browser, key):
    assert browser.get(f"/settings/programmes/{key}/").status_code == 404


@pytest.mark.parametrize("version", ["9", "0", "999999"])
def test_an_unknown_version_is_not_found(browser, world, version):
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    assert browser.get(f"/settings/programmes/{own.pk}/?version={version}").status_code == 404


def test_another_farms_programme_is_not_found(browser, world, elsewhere):
    far = programmes.copy(elsewhere.by, source="duck", name="Far ducks")
    for path in ("", "edit/"):
        assert browser.get(f"/settings/programmes/{far.pk}/{path}").status_code == 404
    assert browser.post(f"/settings/programmes/{far.pk}/copy/", {"name": "Ours"}).status_code == 404
    assert "Far ducks" not in text(browser.get("/settings/programmes/"))


@pytest.mark.parametrize("role", ["helper", "child"])
def test_others_read_but_neither_copy_nor_edit(browser, world, role):
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    browser.force_login(world.add_member("Cleo", role).login)
    page = text(browser.get(f"/settings/programmes/{own.pk}/"))
    assert "Copy and edit" not in page
    assert browser.post("/settings/programmes/duck/copy/", {"name": "Theirs"}).status_code == 403
    assert browser.get(f"/settings/programmes/{own.pk}/edit/").status_code == 403
    assert RearingProgramme.objects.filter(edited=True).count() == 1
