"""A keeper takes everything along and brings it as a second farm, on a phone and a desk, with scripts and without."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from farm.models import Batch, Farm, Member
from farm.services import demo as demo_farm
from tests.browser.conftest import Open
from tests.browser.test_every_page import against


def test_everything_is_saved_and_brought_again_as_a_second_farm(page: Page, tmp_path: Path) -> None:
    page.goto("/settings/")
    page.get_by_role("link", name="Take everything with you").click()
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the file").click()
    file = tmp_path / saved.value.suggested_filename
    saved.value.save_as(file)

    page.goto("/settings/")
    page.get_by_role("link", name="Bring a farm here").click()
    page.get_by_label("The farm's file").set_input_files(file)
    page.get_by_label("Your name on that farm").fill("Jonas")
    page.get_by_role("button", name="Bring the farm").click()

    expect(page.get_by_text("Alder Hollow is here, with all its records.")).to_be_visible()
    old, new = Farm.objects.order_by("pk")
    assert [Batch.objects.filter(farm=farm).count() for farm in (old, new)] == [15, 15]
    assert Member.objects.get(farm=new, login__isnull=False).name == "Jonas"


@pytest.mark.parametrize("scripts", [True, False])
def test_another_file_is_refused_with_the_reason_at_its_field(
    demo: demo_farm.Planted, open_as: Open, size: str, scripts: bool
) -> None:
    assert demo.by.login is not None
    page = open_as(demo.by.login, size, java_script_enabled=scripts)
    page.goto("/bring/")
    letter = {"name": "letter.zip", "mimeType": "application/zip", "buffer": b"Dear"}
    page.get_by_label("The farm's file").set_input_files([letter])
    page.get_by_role("button", name="Bring the farm").click()

    expect(page.locator(".field.refused")).to_contain_text("This is no archive of a farm, or it was cut off")
    if scripts:
        assert against(page) == []
    assert Farm.objects.count() == 1


def test_neither_page_is_hard_to_read_or_to_touch(page: Page) -> None:
    for address in ("/settings/archive/", "/bring/"):
        page.goto(address)
        assert against(page) == [], address
