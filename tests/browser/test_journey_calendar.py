"""A calendar link, from the page that makes it to the day it is switched off."""

from __future__ import annotations

import urllib.request

import icalendar
from playwright.sync_api import Page, expect


def fetched(address: str) -> icalendar.Calendar:
    """Return the calendar at an address, as an app reads it: without cookies."""
    with urllib.request.urlopen(address, timeout=10) as reply:
        return icalendar.Calendar.from_ical(reply.read())


def made(page: Page, label: str) -> str:
    """Make a link on the page and return its address."""
    page.goto("/calendars/")
    page.get_by_label("Where will it be used?").fill(label)
    page.get_by_role("radio", name="the whole farm").check()
    page.get_by_role("button", name="Make the link").click()
    return page.get_by_label("Address", exact=True).input_value()


def test_a_new_link_opens_the_farms_calendar_in_a_program_that_knows_no_login(page: Page) -> None:
    calendar = fetched(made(page, "Barn phone"))
    titles = [str(event["SUMMARY"]) for event in calendar.events]
    assert titles
    assert all(titles)
    page.get_by_role("link", name="Done").click()
    expect(page.get_by_role("listitem").filter(has_text="Barn phone")).to_contain_text("Marta")


def test_the_address_is_shown_once_and_never_again(page: Page) -> None:
    address = made(page, "Barn phone")
    page.goto("/calendars/")
    assert address not in page.content()
    assert address.rpartition("/")[2] not in page.content()


def test_a_link_that_is_switched_off_tells_the_app_so_and_nothing_else(page: Page) -> None:
    address = made(page, "Lost phone")
    assert len(fetched(address).events) > 1
    page.goto("/calendars/")
    page.get_by_role("link", name="Switch off Lost phone").click()
    page.get_by_role("button", name="Yes, switch it off").click()
    expect(page.locator(".said")).to_contain_text("“Lost phone” is switched off.")
    assert [str(event["SUMMARY"]) for event in fetched(address).events] == ["Calendar switched off"]
    expect(page.get_by_role("link", name="Switch off Lost phone")).to_have_count(0)
