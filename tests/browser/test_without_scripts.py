"""An old phone that runs no scripts does all the work too."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, ChoreMark
from farm.queries import heads
from farm.services.demo import Planted
from tests.browser.conftest import Open


@pytest.fixture
def plain(demo: Planted, open_as: Open) -> Page:
    """The keeper's phone with scripts switched off."""
    return open_as(demo.by.login, "phone", java_script_enabled=False)


def test_a_chore_is_ticked(plain: Page) -> None:
    plain.goto("/")
    marks = ChoreMark.objects.count()
    tick = plain.locator("button.tick:visible").first
    name, line = str(tick.get_attribute("aria-label")), plain.locator(f"#{tick.get_attribute('id')}")
    tick.click()
    expect(line).to_have_attribute("aria-label", name.replace("Done: ", "Open again: "))
    assert ChoreMark.objects.count() == marks + 1


def test_a_death_is_counted_on_the_batchs_own_form(plain: Page, demo: Planted) -> None:
    batch = Batch.objects.get(farm=demo.farm, name="Table birds")
    before = heads.alive_on(batch, demo.by.today)
    plain.goto(f"/batches/{batch.pk}/count/")
    plain.get_by_label("What happened").select_option(label="died")
    plain.get_by_label("Birds", exact=False).first.fill("2")
    plain.get_by_role("main").get_by_role("button").last.click()
    expect(plain.locator(".said")).to_contain_text("2")
    assert heads.alive_on(batch, demo.by.today) == before - 2


def test_a_batch_is_added_and_stands_on_the_board(plain: Page) -> None:
    plain.goto("/batches/new/")
    plain.get_by_label("Name").fill("Barn find")
    plain.get_by_label("Species and type").select_option(label="Brown layer chicken")
    plain.get_by_label("Birds").fill("6")
    plain.get_by_label("First place").select_option(label="Brooder 3 (3.0 m², heated)")
    plain.get_by_role("button", name="Add the batch").click()
    expect(plain.locator(".said")).to_contain_text("Barn find is on the board.")
    plain.goto("/board/")
    expect(plain.get_by_role("main")).to_contain_text("Barn find")


def test_the_board_says_what_does_not_fit(plain: Page) -> None:
    plain.goto("/board/")
    expect(plain.locator(".breach").filter(has_text="Brooder 3 is ")).to_be_visible()
    expect(plain.locator("svg.plot").first).to_be_visible()
