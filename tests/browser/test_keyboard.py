"""The two pages a keeper lives on, without a mouse."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

BARN_PAGES = ["/", "/board/"]
MOST_STOPS = 400

# Where the focus is: what it is, whether it is ringed (a shape of a drawing by its stroke), and on the screen.
_STOP = """
() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const box = one.getBoundingClientRect(), style = getComputedStyle(one);
  return {
    what: one.outerHTML.slice(0, 120).replace(/\\s+/g, " "),
    ringed: (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2)
      || [...one.querySelectorAll("path, circle")].some((part) => parseFloat(getComputedStyle(part).strokeWidth) >= 3),
    seen: box.width > 0 && box.height > 0 && box.bottom > 0 && box.right > 0
      && box.top < innerHeight && box.left < innerWidth,
  };
}
"""


def stops(page: Page) -> Iterator[dict[str, object]]:
    """Press Tab through the page; yield each place the focus comes to until it leaves the page."""
    for _press in range(MOST_STOPS):
        page.keyboard.press("Tab")
        stop = page.evaluate(_STOP)
        if stop is None:
            return
        yield stop
    pytest.fail(f"Tab never leaves the page in {MOST_STOPS} presses")


@pytest.mark.parametrize("address", BARN_PAGES)
def test_every_stop_of_the_tab_key_is_drawn_and_on_the_screen(page: Page, address: str) -> None:
    page.goto(address)
    reached = list(stops(page))
    assert len(reached) > 12  # the frame alone has more
    # A day field is several stops; at its little calendar the browser rings that part alone.
    ringed = {stop["what"] for stop in reached if stop["ringed"]}
    assert {stop["what"] for stop in reached} - ringed == set()
    assert [stop["what"] for stop in reached if not stop["seen"]] == []


@pytest.mark.parametrize("address", BARN_PAGES)
def test_tab_reaches_every_control_of_the_page(page: Page, address: str) -> None:
    page.goto(address)
    there = page.evaluate(
        """() => [...document.querySelectorAll("a[href], button, input, select, textarea, summary")].filter(
          (one) => one.checkVisibility() && one.type !== "hidden" && !one.disabled && one.tabIndex >= 0
            && !(one.type === "radio" && !one.checked)
        ).length"""
    )
    assert len(list(stops(page))) >= there


@pytest.mark.parametrize("address", BARN_PAGES)
def test_the_first_stop_skips_the_frame(page: Page, address: str) -> None:
    page.goto(address)
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.get_by_role("main")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_the_address_a_keeper_is_on_is_named_in_the_navigation(page: Page) -> None:
    page.goto("/board/")
    expect(page.get_by_role("navigation", name="Main").locator("[aria-current=page]")).to_have_text("Board")
