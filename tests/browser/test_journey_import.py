"""Three brooders and their batches from a spreadsheet, with a slip in it, up to the clash on the board."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, Farm, Housing, Login
from farm.models.history import Face
from farm.services import farms
from farm.services.actor import local_day
from farm.web import clock
from tests.browser.conftest import Open

BROODERS = """name;kind;area;heat;feeder;drinker
Brooder A;brooder;2,0;yes;600;200
Brooder B;brooder;1,5;yes;600;200
Brooder C;brooder;{size};yes;600;200
"""


@pytest.fixture
def empty(live_server: object, open_as: Open, size: str) -> Page:
    """A page of a keeper whose farm has nothing yet."""
    login = Login.objects.create_user("new@example.org", "pw")
    farms.start(
        login=login,
        keeper="Noor",
        name="New Farm",
        time_zone="Europe/Berlin",
        now=clock.now(),
        face=Face.PAGE,
    )
    return open_as(login, size)


def batches() -> str:
    """Two batches of which the first outgrows Brooder A: 40 chicks in 2 m²."""
    today = local_day(Farm.objects.get(), clock.now())
    later = today + timedelta(days=42)
    rows = [
        ("Spring layers", "Brown layer chicken", 40, today - timedelta(days=7), "Brooder A", later),
        ("Small ducks", "Duck", 6, today - timedelta(days=3), "Brooder B", later),
    ]
    lines = [",".join(f'"{cell}"' for cell in row) for row in rows]
    return "\n".join(["name,programme,birds,hatch day,housing,housing until", *lines])


def look_through(page: Page, what: str, table: str) -> None:
    page.locator(f"input[name=what][value={what}]").check()
    page.get_by_label("paste the table").fill(table)
    page.get_by_role("button", name="Look it through").click()


def test_a_wrong_row_is_named_mended_in_place_and_then_saved_with_the_others(empty: Page) -> None:
    empty.goto("/import/")
    look_through(empty, "housing", BROODERS.format(size="big"))
    expect(empty.get_by_role("alert")).to_contain_text("1 row cannot be saved like this. Nothing was saved")
    expect(empty.get_by_role("row", name="Brooder C")).to_contain_text("“big” is not a number.")
    expect(empty.get_by_role("button", name="Save")).to_have_count(0)
    assert Housing.objects.count() == 0

    typed = empty.get_by_label("paste the table")
    typed.fill(typed.input_value().replace("big", "1,5"))
    empty.get_by_role("button", name="Look it through").click()
    empty.get_by_role("button", name="Save 3 rows").click()
    expect(empty.locator(".said")).to_have_text("3 rows saved.")
    assert sorted(Housing.objects.values_list("name", "area_m2")) == [
        ("Brooder A", 2.0),
        ("Brooder B", 1.5),
        ("Brooder C", 1.5),
    ]


def test_a_clash_is_foretold_before_saving_and_said_in_the_same_words_on_the_board(empty: Page) -> None:
    empty.goto("/import/")
    look_through(empty, "housing", BROODERS.format(size="1,5"))
    empty.get_by_role("button", name="Save 3 rows").click()
    empty.goto("/import/")
    look_through(empty, "batches", batches())
    foretold = empty.locator(".breach").first.inner_text()
    assert foretold.startswith("Brooder A ")
    assert "m²" in foretold

    empty.get_by_role("button", name="Save 2 rows").click()
    expect(empty).to_have_url("/board/")
    expect(empty.locator(".breach").filter(has_text=foretold)).to_have_count(1)
    assert sorted(Batch.objects.values_list("name", flat=True)) == ["Small ducks", "Spring layers"]
