"""A real Chromium before a real server: every page is watched, and anything untoward fails the test."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from farm.models import Login
from farm.services import demo as demo_farm
from tests.browser.engine import FLAGS, SIZES, executable
from tests.browser.planting import Planting
from tests.browser.watch import Watch

HERE = Path(__file__).parent
SLOWEST_MS = 10_000
Open = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark this folder's tests, and no others, as driving a browser."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser a test process."""
    path = executable()
    if path is None:
        pytest.skip("no Chromium; FEATHERDAYS_TEST_CHROMIUM names one")
    # Playwright's calls wait inside an event loop of this thread, where Django would refuse the database to
    # code that in truth runs one line after the other. The permit ends with the browser.
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
            yield browser
            browser.close()


@pytest.fixture
def watch(live_server: Any, settings: Any) -> Iterator[Watch]:
    """The watch over every context of a test, which has nothing to report at the end."""
    settings.ADDRESS = live_server.url  # so that links which are handed over lead here
    cache.clear()  # the brake on sign-ins counts this process's other tests too
    watch = Watch(address=live_server.url)
    yield watch
    assert watch.troubles == []


@pytest.fixture
def new_context(chromium: Browser, live_server: Any, watch: Watch) -> Iterator[Callable[..., BrowserContext]]:
    """Return a maker of watched contexts of a size; further options are the browser's own."""
    made: list[BrowserContext] = []

    def make(size: str = "desktop", **options: Any) -> BrowserContext:
        context = chromium.new_context(
            base_url=live_server.url, viewport=SIZES[size], locale="en-GB", reduced_motion="reduce", **options
        )
        context.set_default_timeout(SLOWEST_MS)
        watch.over(context)
        made.append(context)
        return context

    yield make
    for context in made:
        context.close()


@pytest.fixture
def open_as(new_context: Callable[..., BrowserContext], live_server: Any) -> Open:
    """Return an opener of a blank page, in a context of its own, where `login` is signed in already."""

    def open_page(login: Login, size: str = "desktop", **options: Any) -> Page:
        client = Client()
        client.force_login(
            Login.objects.get(pk=login.pk)
        )  # as the rows are now, whatever earlier tests did to theirs
        cookie = client.cookies["sessionid"]
        context = new_context(size, **options)
        context.add_cookies([{"name": "sessionid", "value": cookie.value, "url": live_server.url}])
        return context.new_page()

    return open_page


@pytest.fixture(scope="session")
def planted() -> Planting:
    """The demo farm and every row of it, once it was planted in this process."""
    return Planting()


@pytest.fixture
def demo(live_server: Any, planted: Planting) -> demo_farm.Planted:
    """The demo farm with a calendar link, as of when it was first asked for."""
    return planted.again()


@pytest.fixture(params=list(SIZES))
def size(request: pytest.FixtureRequest) -> str:
    """A phone held upright, then a desk."""
    return str(request.param)


@pytest.fixture
def page(demo: demo_farm.Planted, open_as: Open, size: str) -> Page:
    """A page at each size, where the demo's keeper is signed in."""
    assert demo.by.login is not None
    return open_as(demo.by.login, size)
