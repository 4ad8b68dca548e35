"""Words that try to be code: stored in every text there is, they stay words on every page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import models
from playwright.sync_api import Page

from farm.services.demo import Planted
from tests.browser.conftest import Open
from tests.browser.planting import Planting

# Out of an attribute, out of a title, a text area or a script, then something that runs. Watch sees a dialog, a
# refused script and a request for x; 7*7 tells of a template that read it.
WORDS = "\"'></title></textarea></script><img src=x onerror=alert(1)>"
SHORT = "'\"><svg onload=alert(2)>{{7*7}}"

#: Columns whose text is a key, a hash or a setting of the program, which no form writes freely.
NOT_FREE = {
    *("time_zone", "language", "password", "species", "type", "built_in"),
    *("source", "verb", "noun", "model", "word", "client_key", "digest", "content"),
    *("repeat", "zone"),
}


def free_texts(model: type[models.Model]) -> Iterator[models.Field[Any, Any]]:
    """Yield the columns of a model that hold what people write."""
    for field in model._meta.concrete_fields:
        typed = type(field) in (models.CharField, models.TextField) and field.editable
        ours = field.choices or field.unique or field.name in NOT_FREE or field.name.endswith("sha256")
        if typed and not ours:
            yield field


def spoil(field: models.Field[Any, Any], row: models.Model) -> str:
    """Return hostile words that the column can hold, each row's its own."""
    words = f"{row.pk} {WORDS}"
    return words if field.max_length is None or len(words) <= field.max_length else f"{row.pk} {SHORT}"


def spoil_everything() -> set[str]:
    """Write hostile words into every free text of every record; return the columns."""
    found = set()
    for name in ("farm", "calendars"):
        for model in apps.get_app_config(name).get_models():
            for field in free_texts(model):
                for row in model._base_manager.all():
                    model._base_manager.filter(pk=row.pk).update(**{field.name: spoil(field, row)})
                    found.add(f"{model._meta.model_name}.{field.name}")
    return found


def test_hostile_words_stay_words_on_every_page(demo: Planted, planted: Planting, open_as: Open) -> None:
    addresses = planted.pages()
    spoiled = spoil_everything()
    assert {
        "batch.name",
        "batch.notes",
        "housing.name",
        "member.name",
        "farm.name",
        "countentry.note",
    } <= spoiled
    page = open_as(demo.by.login)
    met = 0
    for name, address in addresses.items():
        page.goto(address)
        assert page.locator("img[src=x], svg[onload]").count() == 0, name
        met += "onload=alert(2)" in text_of(page) or "onerror=alert(1)" in text_of(page)
    assert met > 20  # the words did reach the pages


def text_of(page: Page) -> str:
    """Return what the page shows as text."""
    return page.locator("body").inner_text()


def test_hostile_words_that_a_form_refuses_come_back_as_words(demo: Planted, open_as: Open) -> None:
    page = open_as(demo.by.login)
    for address in ("/housing/new/", "/batches/new/", "/quick/", "/import/", "/people/new/"):
        page.goto(address)
        for box in page.locator("main form input[type=text]:visible, main form textarea:visible").all():
            box.fill(WORDS)
        page.locator("main form button:visible").last.click()
        page.wait_for_load_state()
        assert page.locator("img[src=x]").count() == 0, address
