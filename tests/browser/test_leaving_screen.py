"""The pages of leaving that the sweep over the demo does not meet, on a phone and on a desk, with the mouse alone."""

from __future__ import annotations

from playwright.sync_api import Page

from farm.services import members
from farm.services.demo import Planted
from tests.browser.test_every_page import against


def test_someone_who_left_is_forgotten_and_the_farm_closed_and_kept(page: Page, demo: Planted) -> None:
    gone = members.add(demo.by, name="Gil", role="child")
    members.leave(demo.by, member_id=gone.pk)

    page.goto("/people/left/")
    assert against(page) == []
    page.get_by_role("link", name="Forget Gil").click()
    assert against(page) == []
    page.get_by_role("button", name="Forget the name for good").click()
    assert page.get_by_text("It says “Former member 1” now.").is_visible()

    page.goto("/settings/close/")
    page.get_by_label("Name of the farm").fill(demo.farm.name)
    page.get_by_role("button", name="Close the farm").click()
    assert page.get_by_role("heading", name=f"{demo.farm.name} is closed").is_visible()
    assert against(page) == []
    page.goto("/board/")
    page.get_by_role("button", name="Keep the farm").click()
    assert page.get_by_text(f"{demo.farm.name} is open again, as it was.").is_visible()


def test_giving_up_a_login_says_what_to_settle_first_or_asks_for_the_password(
    page: Page, demo: Planted
) -> None:
    page.goto("/login/give-up/")
    assert page.get_by_text("you are the only keeper who can sign in on").is_visible()
    assert against(page) == []

    second = members.add(demo.by, name="Gil", role="keeper")
    second.login = type(demo.by.login).objects.create_user("gil@example.org", "pw")
    second.save()
    page.reload()
    assert page.get_by_label("Your password").is_visible()
    assert against(page) == []
