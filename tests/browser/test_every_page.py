"""Every page, on a phone and on a desk: open to all, and fit to be touched."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.browser import judges
from tests.browser.pages import STRANGERS
from tests.browser.planting import Planting

PARTS = 3  # so that the test processes share the work


def against(page: Page) -> list[str]:
    """Return what can be said against the page that is open."""
    return [*judges.against_axe(page), *judges.too_wide(page), *judges.small(page)]


@pytest.mark.parametrize("part", range(PARTS))
def test_no_page_breaks_a_rule_of_accessibility_or_is_too_wide_or_too_small_to_touch(
    page: Page, planted: Planting, part: int
) -> None:
    found: dict[str, list[str]] = {}
    for name, address in list(planted.pages().items())[part::PARTS]:
        page.goto(address)
        for fault in against(page):
            found.setdefault(fault, []).append(name)
    report = "\n".join(f"{', '.join(names)}: {fault}" for fault, names in found.items())
    assert not report, report


@pytest.mark.usefixtures("demo")
def test_neither_do_the_pages_of_a_stranger(
    new_context: Callable[..., BrowserContext], planted: Planting, size: str
) -> None:
    page = new_context(size).new_page()
    for name in STRANGERS:
        page.goto(planted.addresses[name])
        assert against(page) == [], name


@pytest.mark.usefixtures("demo")
def test_the_sweep_visits_the_pages_a_keeper_lives_on(planted: Planting) -> None:
    known = {"today", "board", "batches", "batch", "housing", "housing-page", "people", "history"}
    assert known <= set(planted.pages())
