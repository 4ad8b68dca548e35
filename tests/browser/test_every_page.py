"""Every page, on a phone and on a desk: open to all, and fit to be touched."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page

from farm.services.demo import Planted
from tests.browser import judges
from tests.browser.pages import STRANGERS, addresses, pages

Judge = Callable[[Page], list[str]]


def judged(page: Page, demo: Planted, *judges: Judge) -> str:
    """Return what the judges have against the pages, one line a fault with the pages that have it."""
    found: dict[str, list[str]] = {}
    for name, address in pages(demo).items():
        page.goto(address)
        for fault in (fault for judge in judges for fault in judge(page)):
            found.setdefault(fault, []).append(name)
    return "\n".join(f"{', '.join(names)}: {fault}" for fault, names in found.items())


def test_no_page_breaks_a_rule_of_accessibility(page: Page, demo: Planted) -> None:
    against = judged(page, demo, judges.against_axe)
    assert not against, against


def test_no_page_scrolls_sideways_and_everything_touched_is_large_enough(page: Page, demo: Planted) -> None:
    against = judged(page, demo, judges.too_wide, judges.small)
    assert not against, against


@pytest.mark.parametrize("name", STRANGERS)
def test_the_pages_of_a_stranger_break_no_rule_either(
    new_context: Callable[..., BrowserContext], demo: Planted, size: str, name: str
) -> None:
    page = new_context(size).new_page()
    page.goto(addresses(demo)[name])
    assert judges.against_axe(page) + judges.too_wide(page) + judges.small(page) == []


def test_the_sweep_visits_the_pages_a_keeper_lives_on(demo: Planted) -> None:
    assert {"today", "board", "batches", "batch", "housing", "housing-page", "people", "history"} <= set(
        pages(demo)
    )
