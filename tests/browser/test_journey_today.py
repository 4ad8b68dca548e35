"""A day in the barn: tick, count, undo."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, ChoreMark
from farm.models.chore_mark import MarkState
from farm.queries import heads
from farm.services.demo import Planted
from tests.browser import judges
from tests.browser.conftest import Open


@pytest.fixture
def phone(demo: Planted, open_as: Open) -> Page:
    """The keeper's phone, on the page of today."""
    page = open_as(demo.by.login, "phone")
    page.goto("/")
    return page


def alive(demo: Planted, name: str) -> int:
    """Return how many birds of a batch are alive."""
    return heads.alive_on(Batch.objects.get(farm=demo.farm, name=name), demo.by.today)


def test_a_ticked_chore_changes_in_place_and_is_still_ticked_after_a_reload(phone: Page) -> None:
    marks = ChoreMark.objects.count()
    tick = phone.locator("button.tick:visible").first
    line = phone.locator(f"#{tick.get_attribute('id')}")
    name = str(tick.get_attribute("aria-label"))
    assert name.startswith("Done: ")
    phone.evaluate("window.untouched = true")
    tick.click()
    expect(line).to_have_attribute("aria-label", name.replace("Done: ", "Open again: "))
    assert phone.evaluate("window.untouched") is True  # the page was not loaded anew
    assert ChoreMark.objects.count() == marks + 1
    phone.reload()
    expect(line).to_have_attribute("aria-label", name.replace("Done: ", "Open again: "))


def test_a_tick_by_keyboard_keeps_the_focus_where_it_was(phone: Page) -> None:
    tick = phone.locator("button.tick:visible").first
    line = phone.locator(f"#{tick.get_attribute('id')}")
    tick.focus()
    phone.keyboard.press("Enter")
    expect(line).to_have_attribute("aria-label", str(line.get_attribute("aria-label")))
    expect(phone.locator("button.tick").and_(line)).to_be_focused()


def test_ticks_are_large_enough_for_a_gloved_thumb(phone: Page) -> None:
    assert phone.locator("button.tick").count() > 5
    assert judges.small(phone, 44, "button.tick") == []


def test_a_chore_left_out_keeps_its_reason(phone: Page) -> None:
    phone.locator(".behind > summary:visible").first.click()
    more = phone.locator("details.behind[open]")
    more.get_by_label("Note or reason").fill("Vet comes at noon")
    more.get_by_role("button", name="Leave out").click()
    expect(phone.locator(".skipped").filter(has_text="Vet comes at noon")).to_be_visible()
    mark = ChoreMark.objects.get(note="Vet comes at noon")
    assert mark.state == MarkState.SKIPPED


def test_three_died_is_written_counted_and_taken_back_in_the_history(phone: Page, demo: Planted) -> None:
    before = alive(demo, "Table birds")
    phone.get_by_label("Write what happened").fill("3 died in Pen 2")
    phone.get_by_role("button", name="Record").click()
    expect(phone.locator(".said")).to_contain_text("3 birds died")
    assert alive(demo, "Table birds") == before - 3

    phone.get_by_role("link", name="More", exact=True).click()
    phone.get_by_role("link", name="History", exact=True).click()
    phone.get_by_role("link", name="Undo … Table birds: 3 birds died").click()
    phone.get_by_role("button", name="Undo it").click()
    expect(phone.locator(".said")).to_contain_text("Undone: Table birds: 3 birds died")
    assert alive(demo, "Table birds") == before
