"""Which browser is driven, how it is started, and the two sizes every page is looked at."""

from __future__ import annotations

import os
import shutil

from playwright.sync_api import ViewportSize

SIZES = {"phone": ViewportSize(width=390, height=844), "desktop": ViewportSize(width=1440, height=900)}

# A test machine may be a container without a sandbox or a graphics card; nothing is fetched from elsewhere.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def executable() -> str | None:
    """Return the Chromium to drive: FEATHERDAYS_TEST_CHROMIUM, else `chromium` on the path."""
    return os.environ.get("FEATHERDAYS_TEST_CHROMIUM") or shutil.which("chromium")
