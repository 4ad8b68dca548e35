"""Reminders are set up: wishes, an e-mail address, and a browser that hands its subscription over."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from farm.models import Channel, ReminderWishes
from farm.services.channels import sealing
from tests.browser import judges
from tests.browser.conftest import Open
from tests.browser.my_app import Barn, make_barn
from tests.browser.watch import Watch
from tests.farm.channels_world import browser

#: Headless, the browser has no push service to ask, nor anybody to ask for permission: both are answered for.
ANSWERS = """
Object.defineProperty(Notification, "requestPermission", {value: async () => "%(permission)s"});
let tries = 0;
PushManager.prototype.getSubscription = async () => ({unsubscribe: async () => { window.gaveUp = true; }});
PushManager.prototype.subscribe = async (wanted) => {
  if (%(stale)s && ++tries === 1) throw new DOMException("another key", "InvalidStateError");
  if (wanted.applicationServerKey.length !== 65 || !wanted.userVisibleOnly) throw new Error("no such key");
  return %(subscription)s;
};
"""


@pytest.fixture
def barn(live_server: object) -> Barn:
    return make_barn()


def opened(open_as: Open, barn: Barn, permission: str = "granted", stale: str = "false") -> tuple[Page, str]:
    """Return the keeper's page of reminders on a phone, and the subscription its browser will hand over."""
    page = open_as(barn.login, "phone")
    address = browser("https://push.example.net/abc").address()
    page.add_init_script(ANSWERS % {"permission": permission, "stale": stale, "subscription": address})
    page.goto("/my/reminders/")
    page.get_by_text("Show messages in this browser").click()
    return page, address


def test_what_is_suggested_is_saved_with_one_press_and_an_address_added(barn: Barn, open_as: Open) -> None:
    page = open_as(barn.login, "phone")
    page.goto("/my/reminders/")
    page.get_by_text("Add an e-mail address").click()
    page.get_by_label("E-mail address").fill("ada@example.org")
    page.get_by_role("button", name="Add this address").click()
    expect(page.locator(".said")).to_contain_text("Added: ada@example.org")
    expect(page.get_by_label("Morning round")).to_have_value("06:30")
    page.get_by_role("button", name="Save what to tell").click()
    expect(page.locator(".said")).to_contain_text("Saved.")
    page.get_by_role("button", name="Send a test").click()
    expect(page.locator(".said")).to_contain_text("Sent to ada@example.org")
    assert ReminderWishes.objects.get().missed
    assert Channel.objects.get().worked_at is not None


@pytest.mark.parametrize("stale", ["false", "true"])
def test_a_browser_is_switched_on_also_with_a_subscription_of_another_key(
    barn: Barn, open_as: Open, stale: str
) -> None:
    page, address = opened(open_as, barn, stale=stale)
    page.get_by_role("button", name="Show messages here").click()
    expect(page.locator(".said")).to_contain_text("This browser will show your messages.")
    row = Channel.objects.get()
    assert (row.kind, row.member) == ("push", barn.by.member)
    assert json.loads(sealing.open_sealed(row.address)) == json.loads(address)


def test_a_browser_that_was_told_no_says_how_to_allow_it(barn: Barn, open_as: Open) -> None:
    page, _address = opened(open_as, barn, permission="denied")
    page.get_by_role("button", name="Show messages here").click()
    expect(page.locator("[data-push-said]")).to_contain_text("Allow them in its settings")
    assert Channel.objects.count() == 0


def test_what_the_server_refuses_is_shown(barn: Barn, open_as: Open, watch: Watch) -> None:
    watch.expected = {422}
    page, _address = opened(open_as, barn)
    page.evaluate(
        "PushManager.prototype.subscribe = async () => ({endpoint: 'https://push.example.net/', keys: {}})"
    )
    page.get_by_role("button", name="Show messages here").click()
    expect(page.locator("[data-push-said]")).to_contain_text("can't be used")
    assert Channel.objects.count() == 0


def test_the_page_unfolded_is_open_to_all(barn: Barn, open_as: Open, size: str) -> None:
    page = open_as(barn.login, size)
    page.goto("/my/reminders/")
    for summary in page.locator("main details > summary").all():
        summary.click()
    assert [*judges.against_axe(page), *judges.too_wide(page), *judges.small(page)] == []


def test_without_scripts_the_page_says_what_a_browser_needs(barn: Barn, open_as: Open) -> None:
    page = open_as(barn.login, "phone", java_script_enabled=False)
    page.goto("/my/reminders/")
    page.get_by_text("Show messages in this browser").click()
    expect(page.locator("[data-push-missing]")).to_be_visible()
    expect(page.get_by_role("button", name="Show messages here")).to_be_hidden()
