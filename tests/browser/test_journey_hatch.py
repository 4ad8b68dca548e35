"""From eggs to birds handed over: set, candled, hatched into a batch, ordered, given, and taken back."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, Order
from farm.queries import heads
from farm.services.demo import Planted
from tests.browser import judges
from tests.browser.conftest import Open


def clean(page: Page) -> None:
    """Judge the page as it is now."""
    assert judges.against_axe(page) == []
    assert judges.too_wide(page) == []
    assert judges.small(page) == []


def fill(page: Page, **typed: str) -> None:
    """Type into fields by the names the server reads."""
    for name, value in typed.items():
        field = page.locator(f"#main [name='{name}']")
        if field.evaluate("one => one.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)


def send(page: Page) -> None:
    """Press the one clear action of the page's form."""
    page.locator("#main form button.primary").click()


def set_eggs(page: Page, demo: Planted) -> None:
    """Write down eggs that went in three weeks ago, so that they hatch today."""
    page.goto("/hatching/")
    page.get_by_role("link", name="Set eggs").first.click()
    page.get_by_label("Species and type").select_option("chicken_dual")
    page.get_by_label("Eggs", exact=True).fill("24")
    page.get_by_label("Set on").fill((demo.by.today - timedelta(days=21)).isoformat())
    page.get_by_role("button", name="Set the eggs").click()
    expect(page.get_by_text("Hatcher is too full by 4 eggs")).to_be_visible()
    clean(page)
    page.get_by_label("Eggs", exact=False).first.fill("20")
    page.get_by_role("button", name="Set the eggs").click()
    expect(page.locator(".said")).to_contain_text("E7 is on the timeline")


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_eggs_become_a_batch_and_the_batch_fills_an_order(demo: Planted, open_as: Open, size: str) -> None:
    page = open_as(demo.by.login, size)
    set_eggs(page, demo)
    page.get_by_role("link", name="Write down a candling").click()
    fill(page, clear="21")
    send(page)
    expect(page.locator("#main form")).to_contain_text("20")  # more than were set: refused, and why
    fill(page, clear="3")
    send(page)

    page.get_by_role("link", name="Record the hatch").click()
    fill(page, hatched="14")
    clean(page)
    send(page)
    batch = Batch.objects.get(name="E7")
    expect(page.get_by_role("heading", name="E7", exact=True)).to_be_visible()
    assert (batch.expected, heads.alive_on(batch, demo.by.today)) == (False, 14)

    page.goto("/orders/new/")
    days = demo.by.today.isoformat()
    wants = {
        "programme": "chicken_dual",
        "birds": "10",
        "age_from_days": "0",
        "age_to_days": "3 days",
        "from_on": days,
    }
    fill(page, customer="Z-99", **{f"lines-0-{name}": value for name, value in wants.items()})
    clean(page)
    send(page)
    order = Order.objects.get(customer="Z-99")
    expect(page.get_by_role("heading", name="Z-99")).to_be_visible()
    clean(page)
    page.get_by_role("link", name="Hand over").first.click()
    clean(page)
    page.get_by_label("E7").check()
    fill(page, birds="10")
    send(page)
    order.refresh_from_db()
    assert order.status == "filled"
    assert heads.alive_on(Batch.objects.get(pk=batch.pk), demo.by.today) == 4
