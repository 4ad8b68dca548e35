"""The machines day by day, and eggs from the setting to the hatch, as they are on a screen."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, EggSet
from farm.services.demo import Planted
from tests.browser.pages import own

#: The least height of letters in a drawing, in CSS pixels of the screen.
LEAST_LETTER = 10.5


def test_the_machines_scroll_in_their_own_box_and_open_with_today_in_sight(page: Page) -> None:
    page.goto("/hatching/")

    box = page.locator(".board.hatchery")
    today = page.locator(".hatchery .rows .today").first
    names = page.locator(".hatchery .rows .name").first
    inside, line, name = box.bounding_box(), today.bounding_box(), names.bounding_box()
    assert None not in (inside, line, name)
    assert name["x"] + name["width"] < line["x"] < inside["x"] + inside["width"]
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.mark.parametrize("weeks", [2, 6, 12, 26])
def test_the_words_of_the_drawing_are_large_enough_to_read(page: Page, weeks: int) -> None:
    page.goto(f"/hatching/?weeks={weeks}")

    heights = page.locator(".hatchery .plot text").evaluate_all(
        """(all) => all.map((one) => parseFloat(getComputedStyle(one).fontSize)
           * one.ownerSVGElement.getBoundingClientRect().width / one.ownerSVGElement.viewBox.baseVal.width)"""
    )
    assert heights
    assert min(heights) >= LEAST_LETTER


def test_no_word_of_a_band_runs_out_of_it(page: Page) -> None:
    page.goto("/hatching/")

    beyond = page.locator(".hatchery a.eggs").evaluate_all(
        """(all) => all.flatMap((one) => [...one.querySelectorAll("text")].filter((text) =>
           text.getBoundingClientRect().right > one.querySelector(".frame").getBoundingClientRect().right + 0.5
        ).map((text) => text.textContent))"""
    )
    assert beyond == []


def test_a_band_is_reached_by_the_tab_key_ringed_and_opens_its_set(page: Page, demo: Planted) -> None:
    egg_set = own(demo, EggSet, name="E4")
    page.goto("/hatching/")

    band = page.locator(f".hatchery a.eggs[href='/hatching/{egg_set.pk}/']").first
    band.focus()
    expect(band).to_be_focused()
    ring = band.locator(".frame").evaluate("(one) => parseFloat(getComputedStyle(one).strokeWidth)")
    assert ring >= 3
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Egg set E4")


def test_only_a_conflict_is_red(page: Page, demo: Planted) -> None:
    red = """() => [...document.querySelectorAll("main *:not(.patterns *)")].filter((one) => {
      const style = getComputedStyle(one);
      return one.checkVisibility() && [style.color, style.fill, style.stroke, style.backgroundColor].some((each) =>
        /^rgb\\((1[5-9]\\d|2\\d\\d), ([0-5]?\\d), ([0-5]?\\d)\\)$/.test(each));
    }).length"""
    page.goto("/hatching/")
    assert page.evaluate(red) == 0

    EggSet.objects.filter(farm=demo.farm, name="E6").update(eggs=900)
    page.goto("/hatching/")
    assert page.evaluate(red) > 0
    expect(page.locator("#clash-1")).to_contain_text("too full")


def test_the_printed_machines_fit_the_width_of_a_sheet(page: Page) -> None:
    page.goto("/hatching/")
    page.set_viewport_size({"width": 1040, "height": 720})  # A4 across, 96 px an inch, less its margins
    page.emulate_media(media="print")

    assert page.locator(".board.hatchery").evaluate("(one) => one.scrollWidth <= one.clientWidth")
    expect(page.get_by_role("link", name="Cabinet").first).to_be_visible()


def test_eggs_are_set_with_the_room_in_sight(page: Page, demo: Planted) -> None:
    page.goto("/hatching/new/")
    page.get_by_label("Species and type").select_option("chicken_dual")
    page.get_by_label("Set on").fill(demo.by.today.isoformat())
    page.get_by_label("Eggs", exact=True).fill("500")
    page.get_by_label("Days stored").fill("9")
    preview = page.get_by_role("region", name="What they come to")
    expect(preview).to_contain_text(re.compile(r"Cabinet, then Hatcher: \d+ eggs \(too few for these\)"))
    expect(preview).to_contain_text("Stored 9 days: fewer hatch")

    page.get_by_role("button", name="Set the eggs").click()
    expect(page.locator(".errorlist").first).to_contain_text("too full by")
    page.get_by_label("Eggs", exact=True).fill("20")
    page.get_by_role("button", name="Set the eggs").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Egg set E7")


def test_a_hatch_is_a_batch_after_one_press(page: Page, demo: Planted) -> None:
    page.goto(f"/hatching/{own(demo, EggSet, name='E2').pk}/")
    page.get_by_role("link", name="Record the hatch").click()
    page.get_by_label("Chicks hatched").fill("27")
    page.get_by_role("button", name="They are here").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("E2")
    expect(page.get_by_role("status")).to_contain_text("27 chicks hatched.")
    assert own(demo, Batch, name="E2").expected is False
