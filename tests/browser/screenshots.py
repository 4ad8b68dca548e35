"""`python -m tests.browser.screenshots OUTDIR`: the demo's pages as pictures, so that anybody can look.

Starts the pages on a data folder of their own, which is gone afterwards. Writes board-desktop.png,
today-phone.png and so on: what fits the screen for those two, the whole page for all.
"""

from __future__ import annotations

import os
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from tests.browser.engine import FLAGS, SIZES, executable

FIRST_SCREEN = {
    ("board", "desktop"),
    ("today", "phone"),
    ("people", "desktop"),
}  # shown in the README: what one sees without scrolling


def main(out: Path) -> None:
    """Plant, serve, look."""
    with tempfile.TemporaryDirectory(prefix="featherdays-pictures-") as data:
        os.environ |= {
            "FEATHERDAYS_DATA": data,
            "FEATHERDAYS_DEBUG": "1",
            "DJANGO_SETTINGS_MODULE": "farm.settings",
            "DJANGO_ALLOW_ASYNC_UNSAFE": "true",  # the browser's calls wait in an event loop of this thread
        }
        os.environ.pop("DATABASE_URL", None)
        out.mkdir(parents=True, exist_ok=True)
        take(out)


def take(out: Path) -> None:
    """Write every page in both sizes."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client

    from calendars import services as calendars
    from farm.services import demo as demo_farm
    from tests.browser.pages import STRANGERS, addresses, answers

    call_command("migrate", interactive=False, verbosity=0)
    demo = demo_farm.plant(now=datetime.now(UTC))
    calendars.make_link(demo.by, member_id=demo.keeper.pk, label="Kitchen tablet", scope="farm")
    client = Client()
    assert demo.by.login is not None
    client.force_login(demo.by.login)
    session = client.cookies["sessionid"].value
    asked = addresses(demo)
    names, broken = answers(demo, asked)
    for name, status in broken.items():
        print(f"no picture of {name}: it answers {status}", file=sys.stderr)
    strangers = {f"stranger-{name}": asked[name] for name in STRANGERS}
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable(), args=FLAGS)
        cookie = {"name": "sessionid", "value": session, "url": address}
        for size in SIZES:
            picture(browser, size, address, [cookie], names, out)
            picture(browser, size, address, [], strangers, out)
        in_the_barn(browser, address, cookie, out / "my-offline-phone.png")
        browser.close()


def picture(
    browser: Browser, size: str, address: str, cookies: list[Any], names: dict[str, str], out: Path
) -> None:
    """Write these pages in one size."""
    context = browser.new_context(
        base_url=address, viewport=SIZES[size], locale="en-GB", reduced_motion="reduce"
    )
    context.add_cookies(cookies)
    page = context.new_page()
    for name, path in names.items():
        page.goto(path)
        if (name, size) in FIRST_SCREEN:
            page.screenshot(path=out / f"{name}-{size}.png")
        page.screenshot(path=out / f"{name}-{size}-whole.png", full_page=True)
        print(out / f"{name}-{size}-whole.png")
    context.close()


def in_the_barn(browser: Browser, address: str, cookie: Any, to: Path) -> None:
    """Write the page of one's rounds without a network, with two ticks that wait for it."""
    context = browser.new_context(
        base_url=address, viewport=SIZES["phone"], locale="en-GB", reduced_motion="reduce"
    )
    context.add_cookies([cookie])
    page = context.new_page()
    page.goto("/my/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # the worker has it now
    context.set_offline(True)
    page.reload()
    for n in range(2):
        page.locator("button.tick:visible").nth(n).click()
    page.locator("#my-state").wait_for(state="visible")
    page.evaluate("scrollTo(0, 0)")
    page.screenshot(path=to)
    print(to)
    context.close()


@contextmanager
def served() -> Iterator[str]:
    """Serve the pages on a free port for as long as the block lasts; yield the address."""
    from waitress import create_server

    from farm.wsgi import application

    server = create_server(application, host="127.0.0.1", port=0, threads=4)
    threading.Thread(target=server.run, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        server.close()


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Usage: python -m tests.browser.screenshots OUTDIR")
    main(Path(sys.argv[1]))
