"""From nothing to a first useful board, with the keyboard alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, expect

from farm.models import Batch, Farm, Housing
from tests.browser.keys import Keys


@pytest.mark.usefixtures("live_server")
def test_a_new_keeper_comes_from_sign_up_to_a_first_board_without_a_mouse(
    new_context: Callable[..., BrowserContext],
) -> None:
    page = new_context("desktop", timezone_id="Europe/Berlin").new_page()
    keys = Keys(page)
    page.goto("/start/")
    keys.write("Name of the farm", "Hollow Farm")
    keys.write("Your name", "Ada")
    keys.write("E-mail", "ada@example.org")
    keys.write("Password", "straw in the attic")
    expect(page.get_by_label("Time zone")).to_have_value("Europe/Berlin")
    keys.press("button", "Start the farm")
    expect(page.locator(".said")).to_contain_text("Hollow Farm is ready.")

    keys.press("link", "Add your first brooder")
    keys.write("Name", "Brooder 1")
    keys.write("Floor the birds can use (m²)", "2")
    keys.press("button", "Save")
    expect(page.locator(".said")).to_contain_text("Brooder 1")

    page.goto("/")
    keys.press("link", "Add your first batch")
    keys.write("Name", "First chicks")
    keys.choose("Species and type", "Brown")
    keys.write("Birds", "40")
    keys.press("button", "Add the batch")
    expect(page.get_by_role("heading", level=1)).to_contain_text("First chicks")

    keys.press("link", "Board")
    expect(page.get_by_role("main")).to_contain_text("Brooder 1 is ")
    assert (Farm.objects.get().time_zone, Housing.objects.get().heated) == ("Europe/Berlin", True)
    assert Batch.objects.get().stays.get().housing.name == "Brooder 1"
