"""The examples that pages show: each can be written just as it stands, on this farm, in its units."""

from __future__ import annotations

from typing import Any

import pytest

from farm.models.member import Role
from farm.web.quick import grammar
from farm.web.quick.parse import parse
from farm.web.quick.sentence import Sentence
from farm.web.quick.views import names
from tests.conftest import TODAY, World
from tests.web.today_world import sign_in


def read(world: World, text: str) -> Any:
    return parse(text, names(world.farm), TODAY, world.farm.units)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("child", [False, True])
def test_every_example_is_understood_on_the_farm_that_shows_it(world: World, system: str, child: bool):
    world.farm.units = system
    shown = grammar.examples(world.farm, child)
    assert shown
    for text in shown:
        found = read(world, text)
        assert isinstance(found, Sentence), text
        assert not found.assumed, text


def test_the_examples_name_the_farms_own_housing(world: World):
    shown = grammar.examples(world.farm)
    assert "2 culled in Pen 1" in shown
    assert "moved all from Brooder 1 to Pen 1" in shown
    assert not any("Pen 2" in text for text in shown)


def test_names_that_look_like_the_invented_ones_are_not_mixed_up():
    text = grammar.said("moved all from Brooder 1 to Pen 2", "metric", ["Pen 2", "Brooder 1"])
    assert text == "moved all from Pen 2 to Brooder 1"


def test_a_farm_with_a_single_place_is_shown_the_invented_names():
    assert grammar.said("2 culled in Pen 2", "metric", ["Barn"]) == "2 culled in Pen 2"


def test_a_us_farm_is_shown_its_own_units(world: World):
    world.farm.units = "us"
    shown = grammar.examples(world.farm)
    assert {"weigh 14 oz (10 birds)", "88 °F in Brooder 1", "4.5 lb feed left"} <= set(shown)


def test_the_units_shown_instead_say_about_the_same(world: World):
    for metric, customary in (
        ("weigh 410 g", "weigh 14 oz"),
        ("31 °C", "88 °F"),
        ("2 kg feed left", "4.5 lb feed left"),
    ):
        one, other = read(world, metric), read(world, customary)
        assert one.kind == other.kind
        assert one.value == pytest.approx(other.value, rel=0.04)


def test_a_child_is_shown_only_what_a_child_may_record(world: World):
    for text in grammar.examples(world.farm, child=True):
        assert read(world, text).verb == "see"


def test_help_and_the_quick_page_show_the_same_examples(world: World, client: Any):
    keeper = sign_in(client, world.by)
    for address in ("/help/", "/quick/"):
        body = keeper.get(address).content.decode()
        assert all(f"<kbd>{text}</kbd>" in body for text in grammar.examples(world.farm))


def test_help_shows_examples_to_who_is_not_signed_in(client: Any, db: None):
    assert "<kbd>3 died</kbd>" in client.get("/help/").content.decode()


def test_a_childs_quick_page_shows_no_count(world: World, client: Any):
    child = sign_in(client, world.add_member("Kim", Role.CHILD))
    body = child.get("/quick/").content.decode()
    assert "<kbd>they huddle</kbd>" in body
    assert "<kbd>3 died</kbd>" not in body
