"""The demo family's week: somebody goes away, a round goes to somebody else, the sheet is printed."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from farm.models import Assignment, Away, Member, Pin
from farm.services.demo import Planted
from tests.browser.conftest import Open
from tests.browser.watch import Watch


@pytest.fixture(params=["phone", "desktop"])
def keeper(request: pytest.FixtureRequest, demo: Planted, open_as: Open) -> Page:
    return open_as(demo.by.login, request.param)


def test_three_days_away_are_shown_before_they_are_kept(demo: Planted, keeper: Page) -> None:
    jonas = Member.objects.get(farm=demo.farm, name="Jonas")
    first = demo.by.today + timedelta(days=2)
    keeper.goto("/people/")
    keeper.get_by_role("link", name="Somebody else is away…").click()
    keeper.get_by_role("link", name=re.compile("Days away *: Jonas")).click()
    keeper.get_by_label("First day away").fill(first.isoformat())
    keeper.get_by_label("Last day away").fill((first + timedelta(days=2)).isoformat())
    keeper.get_by_role("button", name="See what changes").click()
    expect(keeper.get_by_role("status").first).to_contain_text("Nothing is kept yet.")
    expect(keeper.get_by_role("heading", name="Who would do it instead")).to_be_visible()
    assert not Away.objects.filter(member=jonas).exists()
    keeper.get_by_role("button", name="Keep these days").click()
    expect(keeper.locator(".said").first).to_contain_text("Jonas is away")
    assert Away.objects.get(member=jonas).end == first + timedelta(days=3)


def test_abandoning_the_preview_keeps_nothing(demo: Planted, keeper: Page) -> None:
    marta = demo.keeper
    first = demo.by.today + timedelta(days=2)
    keeper.goto(f"/people/{marta.pk}/away/")
    keeper.get_by_label("First day away").fill(first.isoformat())
    keeper.get_by_label("Last day away").fill(first.isoformat())
    keeper.get_by_role("button", name="See what changes").click()
    keeper.get_by_role("link", name="Abandon").click()
    expect(keeper.get_by_text("No days away are entered.")).to_be_visible()
    assert not Away.objects.filter(member=marta).exists()


def given_tomorrow(demo: Planted) -> Assignment:
    """Return something an adult has tomorrow evening or morning that another adult may do."""
    day = demo.by.today + timedelta(days=1)
    return Assignment.objects.filter(farm=demo.farm, day=day, source__endswith="/heat_check").order_by("pk")[
        0
    ]


def test_a_round_is_given_to_another_by_the_form(demo: Planted, keeper: Page) -> None:
    row = given_tomorrow(demo)
    holder = row.member
    other = Member.objects.get(farm=demo.farm, name={"Marta": "Jonas", "Jonas": "Marta"}[holder.name])
    keeper.goto(f"/people/round/?day={row.day.isoformat()}&round={row.round}")
    card = keeper.locator("section.part").filter(has_text=holder.name).filter(has_text="Check the heat").first
    choice = card.get_by_label("Give it to")
    if choice.locator("option", has_text=other.name).count() == 0:
        pytest.skip(f"{other.name} is not there for that round on this weekday")
    choice.select_option(label=other.name)
    card.get_by_role("button", name="Give").click()
    expect(keeper.locator(".said").first).to_contain_text("Given.")
    assert Pin.objects.filter(farm=demo.farm, member=other, due=row.day).exists()


def test_a_name_dragged_onto_another_gives_the_round_away(demo: Planted, open_as: Open, watch: Watch) -> None:
    watch.expected = {422}  # whoever may not do all of it is refused, and says so
    page = open_as(demo.by.login, "desktop")
    row = given_tomorrow(demo)
    other = Member.objects.get(farm=demo.farm, name={"Marta": "Jonas", "Jonas": "Marta"}[row.member.name])
    page.goto(f"/people/?from={row.day.isoformat()}")
    chip = page.locator(
        f'[data-give][data-day="{row.day.isoformat()}"][data-round="{row.round}"][data-giver="{row.member_id}"]'
    )
    chip.drag_to(page.locator(f'.token[data-member="{other.pk}"]'))
    page.wait_for_url("**/people/round/**")
    expect(page.locator(".said, .refusal").first).to_be_visible()
    assert page.url.endswith("/give/") or Pin.objects.filter(farm=demo.farm, member=other).exists()


def test_the_week_sheet_prints_names_and_boxes(demo: Planted, open_as: Open) -> None:
    page = open_as(demo.by.login, "desktop")
    page.goto("/people/sheet/")
    page.emulate_media(media="print")
    expect(page.get_by_role("banner")).to_be_hidden()
    assert page.locator(".fridge .square").count() > 7
