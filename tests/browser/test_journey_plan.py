"""Asking before an order, trying what would help, adopting it and taking it back; and dragging a band."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, Plan, Stay
from farm.services.demo import Planted
from tests.browser import judges
from tests.browser.conftest import Open


@pytest.fixture
def desk(demo: Planted, open_as: Open) -> Page:
    """The keeper's desk."""
    return open_as(demo.by.login, "desktop")


def stays(demo: Planted) -> list[dict[str, Any]]:
    """Return what is planned, without numbers and versions that a change and its undoing may leave different."""
    order = ("batch__name", "start", "housing__name")
    return list(Stay.objects.filter(farm=demo.farm).order_by(*order).values(*order, "end", "birds", "pinned"))


def worked_out(page: Page) -> None:
    """Have a waiting plan worked out on the spot: no worker runs beside these tests."""
    page.get_by_role("button", name="Do not wait: work it out now").click()
    expect(page.get_by_role("button", name="Adopt this plan")).to_be_visible()


def clean(page: Page) -> None:
    """Judge the page as it is now."""
    assert judges.against_axe(page) == []
    assert judges.too_wide(page) == []
    assert judges.small(page) == []


def test_the_clash_is_helped_by_one_click_adopted_and_taken_back(desk: Page, demo: Planted) -> None:
    before = stays(demo)
    desk.goto("/board/")
    expect(desk.locator("#told")).to_contain_text("Brooder 3 is")
    desk.get_by_role("link", name="What would help?").first.click()
    expect(desk.get_by_role("heading", name="What would help", exact=True)).to_be_visible()
    clean(desk)

    desk.get_by_role("button", name=re.compile("^Try this")).first.click()
    expect(desk.get_by_text("Everything fits")).to_be_visible()
    expect(desk.get_by_role("region", name="The board as planned now; scrolls sideways")).to_be_visible()
    expect(desk.get_by_role("region", name="The board with this plan; scrolls sideways")).to_be_visible()
    assert stays(demo) == before
    desk.get_by_role("heading", name="How many more would still fit").scroll_into_view_if_needed()
    expect(desk.get_by_text("Arrivals of the next 26 weeks")).to_be_visible(timeout=20_000)
    clean(desk)

    desk.get_by_role("button", name="Adopt this plan").click()
    expect(desk.locator(".said")).to_contain_text("The plan is adopted.")
    desk.get_by_role("link", name="See the board").click()
    expect(desk.get_by_text("Everything fits in these weeks.")).to_be_visible()
    assert stays(demo) != before

    desk.goto(f"/plan/{Plan.objects.get().code}/")
    desk.get_by_role("link", name="Undo the adoption").click()
    desk.get_by_role("button", name="Undo it").click()
    expect(desk.locator(".said")).to_contain_text("Undone")
    assert stays(demo) == before


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_a_day_of_the_calendar_is_asked_about_and_answered_at_once(
    demo: Planted, open_as: Open, size: str
) -> None:
    page = open_as(demo.by.login, size)
    page.goto("/plan/")
    clean(page)
    page.locator("table.year td a").nth(90).click()
    expect(page.locator(".answer .figure")).to_contain_text(re.compile(r"\d+ birds? fits?|None fit"))

    page.get_by_label("How many more", exact=True).fill("400")
    page.get_by_role("button", name="Ask").click()
    expect(page.locator(".answer .figure")).to_have_text("No, 400 birds do not fit")
    expect(page.locator(".answer .breach").first).to_contain_text(
        re.compile(r"(short on|no housing from) \d+ \w+")
    )
    expect(page.get_by_role("heading", name="What would help", exact=True)).to_be_visible(timeout=20_000)
    clean(page)


def test_a_trial_is_made_of_several_changes_and_put_aside(desk: Page, demo: Planted) -> None:
    desk.goto("/plan/")
    desk.locator("summary", has_text="Change how many birds").click()
    form = desk.locator("details[open]")
    form.get_by_label("Batch").select_option(label="Summer duals")
    form.get_by_label("Birds instead").fill("30")
    clean(desk)
    form.get_by_role("button", name="Try it").click()
    expect(desk.get_by_role("status").filter(has_text="tries")).to_be_visible()
    clean(desk)
    worked_out(desk)
    desk.locator("summary", has_text="Lose a housing").click()
    form = desk.locator("details[open]")
    form.get_by_label("Housing").select_option(label="Pen 1")
    form.get_by_label("Out of use from").fill("2040-01-01")
    form.get_by_role("button", name="Try it").click()

    expect(desk.locator(".tried li")).to_have_count(2)
    worked_out(desk)
    desk.get_by_role("button", name="Put it aside").click()
    expect(desk.locator(".said")).to_contain_text("Nothing on the farm was changed")


def test_what_an_edit_of_a_stay_breaks_is_shown_as_it_is_typed(desk: Page, demo: Planted) -> None:
    stay = Stay.objects.get(farm=demo.farm, batch__name="Late ducks", housing__name="Brooder 2")
    before = stays(demo)
    desk.goto(f"/stays/{stay.pk}/")
    expect(desk.locator(".preview")).to_contain_text("Nothing new stops fitting")

    desk.get_by_label("Housing").select_option(label="Brooder 3 (3.0 m², heated)")
    expect(desk.locator(".preview")).to_contain_text("Brooder 3")
    clean(desk)
    assert stays(demo) == before


def test_a_band_dragged_to_another_day_opens_its_form_and_saves_nothing(desk: Page, demo: Planted) -> None:
    ducks = Batch.objects.get(farm=demo.farm, name="Late ducks")
    stay = ducks.stays.get(housing__name="Brooder 2")
    before = stays(demo)
    desk.goto("/board/")
    band = desk.locator(f'a[data-stay="/stays/{stay.pk}/"] .fill')
    band.scroll_into_view_if_needed()
    box = band.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] - 3
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x + 30, y, steps=4)
    desk.mouse.move(x + 60, y, steps=4)
    desk.mouse.up()

    desk.wait_for_url(re.compile(rf"/stays/{stay.pk}/\?shift=\d+&housing={stay.housing_id}$"))
    assert desk.get_by_label("From").input_value() > stay.start.isoformat()
    expect(desk.locator(".preview")).to_contain_text("What it does")
    assert stays(demo) == before


def test_a_band_that_is_pressed_without_dragging_opens_its_batch(desk: Page, demo: Planted) -> None:
    ducks = Batch.objects.get(farm=demo.farm, name="Late ducks")
    stay = ducks.stays.get(housing__name="Brooder 2")
    desk.goto("/board/")
    desk.locator(f'a[data-stay="/stays/{stay.pk}/"]').focus()
    desk.keyboard.press("Enter")

    desk.wait_for_url(re.compile(rf"/batches/{ducks.pk}/$"))


def test_the_plan_works_without_scripts(demo: Planted, open_as: Open) -> None:
    page = open_as(demo.by.login, "phone", java_script_enabled=False)
    page.goto("/plan/")
    page.get_by_label("How many more", exact=True).fill("400")
    page.get_by_role("button", name="Ask").click()
    page.get_by_role("link", name="What would help?").click()
    page.get_by_role("button", name=re.compile("^Try this")).first.click()
    page.get_by_role("button", name="Look for a better one").click()
    page.get_by_role("button", name="Do not wait: work it out now").click()

    expect(page.get_by_role("button", name="Adopt this plan")).to_be_visible()
