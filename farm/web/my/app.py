"""What makes the page an app: its manifest, and the worker that keeps it readable without network."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from farm.web.my.doors import Door, by_link

#: The files the page needs where there is no network.
SHELL = ("base.css", "my.css", "my_queue.js", "my.js", "mark.svg", "my_icon_192.png", "vendor/htmx.min.js")
PAPER, ACTION = "#fbf8f1", "#2f4a3c"  # --paper and --action of base.css
_ICONS = (("my_icon_192.png", "192x192", "any"), ("my_icon_512.png", "512x512", "any"))


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """Describe the app of those who sign in; it says nothing of anybody."""
    return _manifest(reverse("my"), _("My rounds"))


@by_link
@require_safe
def manifest_by_link(request: HttpRequest, door: Door) -> HttpResponse:
    """Describe the app of a personal link: it starts at that link's own address, so only that page names this one."""
    return _manifest(door.base, _("Rounds of %(member)s") % {"member": door.member})


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """Serve the worker from below /my/, because it may only look after what is below its own address."""
    response = HttpResponse(_worker(), content_type="text/javascript; charset=utf-8")
    response.headers["Cache-Control"] = "no-cache"
    return response


def _manifest(start: str, name: str) -> HttpResponse:
    said = {
        "id": start,
        "name": f"{name} · Featherdays",
        "short_name": name[:12] if len(name) <= 12 else "Featherdays",
        "start_url": start,
        "scope": start,
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": ACTION,
        "icons": [
            *(
                {"src": static(f"web/{file}"), "sizes": size, "type": "image/png", "purpose": purpose}
                for file, size, purpose in _ICONS
            ),
            {
                "src": static("web/my_icon_mask.png"),
                "sizes": "512x512",
                "type": "image/png",
                "purpose": "maskable",
            },
        ],
    }
    return HttpResponse(json.dumps(said), content_type="application/manifest+json")


def _worker() -> str:
    return _written() if settings.DEBUG else _written_once()


@cache
def _written_once() -> str:
    return _written()


def _written() -> str:
    """Return the worker with what it must know in front: another version of any file makes another worker."""
    addresses = [static(f"web/{file}") for file in SHELL]
    digest = hashlib.sha256(" ".join(addresses).encode())
    for file in ("worker.js", *SHELL):
        digest.update(_read(file))
    told = {
        "version": digest.hexdigest()[:16],
        "shell": addresses,
        "queue": static("web/my_queue.js"),
        "icon": static("web/my_icon_192.png"),
        "home": reverse("my"),
        "offline": _("There is no network, and this page was not kept. Go back to your rounds."),
    }
    return f"const MY = {json.dumps(told)};\n{_read('worker.js').decode()}"


def _read(file: str) -> bytes:
    found = finders.find(f"web/{file}")
    assert isinstance(found, str), f"static file {file} is missing"
    return Path(found).read_bytes()
