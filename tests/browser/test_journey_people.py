"""Somebody is invited and comes in by another browser; each role sees what it may."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from farm.models import Login, Member
from farm.services.demo import Planted
from tests.browser.conftest import Open
from tests.browser.watch import Watch


def test_an_invitation_is_accepted_in_another_browser_and_opens_the_farm(
    demo: Planted, open_as: Open, new_context: Callable[..., BrowserContext]
) -> None:
    keeper = open_as(demo.by.login)
    keeper.goto("/people/members/")
    keeper.get_by_role("link", name="Invite Jonas").click()
    keeper.get_by_role("button", name="Make the link").click()
    link = keeper.get_by_label("Link", exact=True).input_value()

    jonas = new_context("phone").new_page()
    jonas.goto(link)
    expect(jonas.get_by_role("heading", level=1)).to_have_text("You are invited to Alder Hollow")
    jonas.get_by_label("E-mail").fill("jonas@example.org")
    jonas.get_by_label("Password", exact=True).fill("ducks in the long grass")
    jonas.get_by_role("button", name="Make a login and join").click()
    expect(jonas.locator(".said")).to_contain_text("Welcome to Alder Hollow.")
    expect(jonas.get_by_role("banner")).to_contain_text("Jonas")

    keeper.goto("/people/members/")
    expect(keeper.get_by_role("listitem").filter(has_text="jonas@example.org")).to_contain_text("keeper")


def test_a_used_invitation_says_so_and_offers_no_form(
    demo: Planted, open_as: Open, new_context: Callable[..., BrowserContext], watch: Watch
) -> None:
    watch.expected = {404}
    keeper = open_as(demo.by.login)
    keeper.goto("/people/members/")
    keeper.get_by_role("link", name="Invite Jonas").click()
    keeper.get_by_role("button", name="Make the link").click()
    link = keeper.get_by_label("Link", exact=True).input_value()
    Member.objects.filter(name="Jonas").get().invitations.update(accepted_at=demo.by.now)
    stranger = new_context().new_page()
    stranger.goto(link)
    expect(stranger.get_by_role("main")).to_contain_text("This invitation was used or is too old.")
    expect(stranger.get_by_role("main").get_by_role("textbox")).to_have_count(0)


def signed_in(demo: Planted, open_as: Open, name: str, size: str = "phone") -> Page:
    """Return a page where the demo's member of this name is signed in."""
    member = Member.objects.get(farm=demo.farm, name=name)
    member.login = Login.objects.create_user(f"{name.lower()}@example.org", "pw")
    member.save()
    return open_as(member.login, size)


@pytest.mark.parametrize("name", ["Lina", "Emil"])
def test_helper_and_child_are_offered_nothing_that_only_a_keeper_may_do(
    demo: Planted, open_as: Open, name: str
) -> None:
    page = signed_in(demo, open_as, name)
    for address in (
        "/",
        "/board/",
        "/batches/",
        "/housing/",
        "/people/",
        "/people/members/",
        "/history/",
        "/settings/",
    ):
        page.goto(address)
        for link in page.get_by_role("main").get_by_role("link").all():
            assert not str(link.get_attribute("href")).rstrip("/").endswith(("/new", "/edit", "/invite")), (
                address
            )
        expect(page.get_by_role("button", name="Undo")).to_have_count(0)
