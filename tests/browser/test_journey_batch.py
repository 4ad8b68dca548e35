"""Changing what another is changing too, and planning what cannot be."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, Member, Stay
from farm.services.demo import Planted
from tests.browser.conftest import Open


@pytest.fixture
def layers(demo: Planted) -> Batch:
    """38 chicks of 9 days, all in Brooder 1: they still need heat."""
    return Batch.objects.get(farm=demo.farm, name="White layers")


@pytest.fixture
def phone(demo: Planted, open_as: Open) -> Page:
    """The keeper's phone."""
    return open_as(demo.by.login, "phone")


def test_the_second_of_two_who_change_a_batch_is_told_what_the_first_changed(
    demo: Planted, layers: Batch, phone: Page, open_as: Open
) -> None:
    jonas = Member.objects.get(farm=demo.farm, name="Jonas")
    jonas.login = demo.by.login.__class__.objects.create_user("jonas@example.org", "pw")
    jonas.save()
    desk = open_as(jonas.login, "desktop")
    for page in (phone, desk):
        page.goto(f"/batches/{layers.pk}/edit/")
    desk.get_by_label("Breed").fill("Leghorn cross")
    desk.get_by_role("button", name="Save").click()
    expect(desk.locator(".said")).to_contain_text("Saved.")

    phone.get_by_label("Notes").fill("One limps.")
    phone.get_by_role("button", name="Save").click()
    refusal = phone.get_by_role("alert")
    expect(refusal).to_contain_text("Somebody changed this while you had it open. Nothing was overwritten")
    expect(refusal).to_contain_text("Jonas: Batch White layers changed")
    expect(phone.get_by_label("Notes")).to_have_value("One limps.")
    layers.refresh_from_db()
    assert (layers.breed, layers.notes) == ("Leghorn cross", "")


@pytest.mark.parametrize(
    "place, birds, field, message",
    [
        ("Brooder 3", "99", "Birds", "only 0 birds are free: the others are in Brooder 1."),
        (
            "Pen 2",
            "38",
            "Reason, if they go without heat they need",
            "Pen 2 has no heat, and these birds need it",
        ),
    ],
)
def test_a_wrong_stay_is_refused_at_its_field_and_what_was_typed_is_still_there(
    demo: Planted, layers: Batch, phone: Page, place: str, birds: str, field: str, message: str
) -> None:
    stays = Stay.objects.count()
    until = (demo.by.today + timedelta(days=3)).isoformat()
    phone.goto(f"/batches/{layers.pk}/stays/new/")
    housing = phone.get_by_label("Housing", exact=False).locator("visible=true").first
    housing.select_option(
        label=next(text for text in housing.locator("option").all_inner_texts() if place in text)
    )
    phone.get_by_label("Birds").fill(birds)
    phone.get_by_label("Until").fill(until)
    phone.get_by_role("button", name="Save").click()

    refused = phone.locator(".field.refused")
    expect(refused).to_have_count(1)
    expect(refused).to_contain_text(message)
    expect(refused.get_by_label(field)).to_have_attribute("aria-invalid", "true")
    expect(phone.get_by_label("Birds")).to_have_value(birds)
    expect(phone.get_by_label("Until")).to_have_value(until)
    expect(phone.locator("[name=housing_id] option:checked")).to_contain_text(place)
    assert Stay.objects.count() == stays
