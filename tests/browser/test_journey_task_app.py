"""An app password, from the page that makes it to the day it is switched off, with a task app in between."""

from __future__ import annotations

import base64
import re
import urllib.error
import urllib.request

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_every_page import against

QUERY = (
    '<c:calendar-query xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:prop><c:calendar-data/></d:prop>'
    '<c:filter><c:comp-filter name="VCALENDAR"/></c:filter></c:calendar-query>'
)


def ask(server: str, user: str, secret: str, method: str, path: str, body: str = "") -> str:
    """Ask as a task app does: without cookies, with the app password alone."""
    signed = base64.b64encode(f"{user}:{secret}".encode()).decode()
    headers = {"Authorization": f"Basic {signed}", "Depth": "1", "Content-Type": "text/calendar"}
    asked = urllib.request.Request(server + path, body.encode() or None, headers, method=method)
    with urllib.request.urlopen(asked, timeout=20) as reply:
        return reply.read().decode()


def test_an_app_reads_with_a_new_password_and_a_lost_phone_is_switched_off(page: Page) -> None:
    page.goto("/calendars/")
    page.get_by_role("link", name="Task apps").click()
    assert against(page) == []
    page.get_by_label("Where will it be used?").fill("Barn phone")
    page.get_by_role("button", name="Make the app password").click()
    assert against(page) == []
    secret = page.get_by_label("Password", exact=True).input_value()
    user = page.locator("dd", has_text=re.compile(r"^member-\d+$")).inner_text()
    server = page.url.partition("/calendars/")[0]

    told = ask(server, user, secret, "REPORT", f"/dav/{user}/rounds/", QUERY)
    assert told.count("BEGIN:VTODO") > 10
    page.get_by_role("link", name="Done").click()
    card = page.get_by_role("listitem").filter(has_text="Barn phone")
    expect(card).not_to_contain_text("not yet")
    card.get_by_role("link", name="Switch off").click()
    page.get_by_role("button", name="Yes, switch it off").click()
    expect(page.locator(".said")).to_contain_text("“Barn phone” is switched off.")
    with pytest.raises(urllib.error.HTTPError, match="401"):
        ask(server, user, secret, "PROPFIND", "/dav/")
