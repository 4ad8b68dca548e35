"""What comes out of the printer."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect


@pytest.mark.parametrize("address", ["/", "/board/"])
def test_a_printed_page_has_its_matter_and_no_navigation(page: Page, address: str) -> None:
    page.goto(address)
    page.emulate_media(media="print")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    for frame in ("nav", "header.frame", "footer.frame", "a.skip"):
        for part in page.locator(frame).all():
            expect(part).not_to_be_in_viewport()
    expect(page.get_by_role("navigation")).to_have_count(0)


def test_the_printed_board_fits_the_width_of_a_sheet(page: Page) -> None:
    page.goto("/board/")
    page.set_viewport_size({"width": 1040, "height": 720})  # A4 across, 96 px an inch, less its margins
    page.emulate_media(media="print")
    boards = page.locator(".board")
    assert boards.count() == 2  # housing, and the nights above it
    for board in boards.all():
        assert board.evaluate("(one) => one.scrollWidth <= one.clientWidth")
    expect(page.get_by_role("link", name="Brooder 3", exact=True).first).to_be_visible()
