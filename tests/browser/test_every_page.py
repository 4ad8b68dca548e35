"""Every page, on a phone and on a desk: open to all, and fit to be touched."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

from farm.services.demo import Planted
from tests.browser import judges
from tests.browser.pages import pages

Judge = Callable[[Page], list[str]]


def judged(page: Page, demo: Planted, judge: Judge) -> dict[str, list[str]]:
    """Return what the judge has against each page, by the page's name."""
    found = {}
    for name, address in pages(demo).items():
        page.goto(address)
        if against := judge(page):
            found[name] = against
    return found


def test_no_page_breaks_a_rule_of_accessibility(page: Page, demo: Planted) -> None:
    assert judged(page, demo, judges.against_axe) == {}


def test_no_page_scrolls_sideways_and_everything_touched_is_large_enough(page: Page, demo: Planted) -> None:
    assert judged(page, demo, lambda shown: judges.too_wide(shown) + judges.small(shown)) == {}


def test_the_sweep_visits_the_pages_a_keeper_lives_on(demo: Planted) -> None:
    assert {"today", "board", "batches", "batch", "housing", "housing-page", "people", "history"} <= set(
        pages(demo)
    )
