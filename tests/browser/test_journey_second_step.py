"""A keeper switches the second step on, signs out, and comes in again with a code and, the telephone lost, by paper."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from farm.models import Login
from farm.services.demo import Planted
from tests.browser import judges
from tests.browser.conftest import Open
from tests.web.otp_codes import code_of, wrong

PASSWORD = "brood by the barn"


@pytest.fixture
def keeper(demo: Planted) -> Login:
    """The demo's keeper with a password this test knows."""
    assert demo.by.login is not None
    demo.by.login.set_password(PASSWORD)
    demo.by.login.save()
    return demo.by.login


def fit(page: Page) -> None:
    assert [*judges.against_axe(page), *judges.too_wide(page), *judges.small(page)] == []


def switched_on(page: Page, look: Callable[[Page], None]) -> tuple[str, list[str]]:
    """Go from the settings to the recovery codes; return secret and codes."""
    page.goto("/settings/")
    page.get_by_role("link", name="Second step when signing in").click()
    look(page)
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_role("heading", name="Add your app")).to_be_visible()
    look(page)
    secret = page.locator(".spelled").inner_text()
    page.get_by_label("Code from your app").fill(code_of(secret))
    page.get_by_role("button", name="Switch the second step on").click()
    expect(page.get_by_role("heading", name="Your recovery codes")).to_be_visible()
    look(page)
    return secret, page.locator(".recovery li").all_inner_texts()


def sign_in(page: Page, keeper: Login) -> None:
    page.goto("/login/")
    page.get_by_label("E-mail").fill(keeper.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="One more step")).to_be_visible()


def test_every_page_on_the_way_fits_and_is_open_to_all(keeper: Login, open_as: Open, size: str) -> None:
    page = open_as(keeper, size)
    secret, codes = switched_on(page, fit)
    assert len(codes) == 10
    page.get_by_role("link", name="I have kept them").click()
    expect(page.get_by_role("main")).to_contain_text("10 recovery codes are left.")
    fit(page)
    for name in ("Make new recovery codes", "Switch the second step off"):
        page.get_by_role("link", name=name).click()
        fit(page)
        page.get_by_role("link", name="Back").click()
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, keeper)
    fit(page)
    page.get_by_label("Code from your app").fill(wrong(code_of(secret)))
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("main")).to_contain_text("This code does not fit.")
    fit(page)


def test_a_phone_without_scripts_does_all_of_it(
    keeper: Login, open_as: Open, new_context: Callable[..., BrowserContext]
) -> None:
    page = open_as(keeper, "phone", java_script_enabled=False)
    secret, codes = switched_on(page, lambda _page: None)
    page = new_context("phone", java_script_enabled=False).new_page()
    sign_in(page, keeper)
    page.get_by_label("Code from your app").fill(code_of(secret, steps=1))
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url("/")
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, keeper)
    page.get_by_role("link", name="No telephone at hand? Use a recovery code").click()
    page.get_by_label("Recovery code").fill(codes[0])
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator(".said")).to_contain_text("9 recovery codes are left.")


def test_the_recovery_codes_are_on_the_printed_page(keeper: Login, open_as: Open) -> None:
    page = open_as(keeper)
    _secret, codes = switched_on(page, lambda _page: None)
    page.emulate_media(media="print")
    for code in codes:
        expect(page.get_by_text(code)).to_be_visible()
