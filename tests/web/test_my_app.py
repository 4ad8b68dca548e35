"""What makes the personal page an app, and the swaps on it."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from PIL import Image

from farm.models import Assignment, Member, Swap
from farm.models.member import Role
from farm.services import rota, swaps
from tests.conftest import NOON, TODAY, World
from tests.web.my_pages import (
    FEED,
    get,
    lines,
    link_of,
    text_of,
)

CARRIED = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}


@pytest.fixture(autouse=True)
def _nothing_counted() -> None:
    cache.clear()


@pytest.fixture
def chicks(world: World) -> World:
    """Nine-day-old chicks in Brooder 1."""
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


@pytest.fixture
def ada(chicks: World, client: Client) -> Client:
    client.force_login(chicks.by.login)
    return client


@pytest.fixture
def kim(chicks: World) -> str:
    """The address of a child's personal link."""
    return link_of(chicks, chicks.add_member("Kim", Role.CHILD, login=False).member)


def test_each_manifest_starts_at_its_own_page_and_names_no_secret_but_its_own(chicks, kim, client, ada):
    mine = json.loads(get(Client(), "/my/manifest.webmanifest").content)
    theirs = get(client, f"{kim}manifest.webmanifest")
    assert mine["start_url"] == mine["scope"] == "/my/"
    told = json.loads(theirs.content)
    assert (told["start_url"], told["scope"], told["display"]) == (kim, kim, "standalone")
    assert theirs["Content-Type"] == "application/manifest+json"
    assert {name: theirs[name] for name in CARRIED} == CARRIED
    page = get(Client(), kim).content.decode()
    assert page.count("manifest.webmanifest") == 1
    assert 'rel="manifest" href="/my/manifest.webmanifest"' in get(ada).content.decode()
    assert kim not in get(ada).content.decode()


@pytest.mark.parametrize("file, size", [("my_icon_192", 192), ("my_icon_512", 512), ("my_icon_mask", 512)])
def test_the_icons_are_as_large_as_the_manifest_says(client, file, size):
    told = json.loads(get(client, "/my/manifest.webmanifest").content)["icons"]
    (one,) = (icon for icon in told if file in icon["src"])
    assert one["sizes"] == f"{size}x{size}"
    shown = Image.open(BytesIO(b"".join(get(client, one["src"]).streaming_content)))
    assert (shown.format, shown.size) == ("PNG", (size, size))


def test_the_worker_is_served_below_my_with_a_version_and_no_secret(client):
    worker = get(client, "/my/worker.js")
    assert worker["Content-Type"] == "text/javascript; charset=utf-8"
    assert worker["Cache-Control"] == "no-cache"
    told = json.loads(re.match(r"const MY = (\{.*\});", worker.content.decode())[1])
    assert re.fullmatch("[0-9a-f]{16}", told["version"])
    for address in told["shell"]:
        assert get(client, address).status_code == 200


def test_another_version_of_any_file_makes_another_worker(monkeypatch):
    from farm.web.my import app

    before = app._written()
    real = app._read
    for file in app.SHELL:
        monkeypatch.setattr(
            app, "_read", lambda name, file=file: real(name) + (b" " if name == file else b"")
        )
        assert app._written() != before, file


@pytest.fixture
def shared(chicks: World) -> World:
    """With a rota: this evening's feeding is Ada's, tomorrow evening's Hal's."""
    hal = chicks.add_member("Hal", Role.HELPER)
    rota.start(chicks.by)
    Assignment.objects.all().delete()
    source = f"room:{chicks.housing['Brooder 1'].pk}/feed_water"
    for day, member in ((TODAY, chicks.keeper), (TODAY + timedelta(days=1), hal.member)):
        row = {"source": source, "due": day, "round": "evening", "day": day}
        Assignment.objects.create(farm=chicks.farm, member=member, **row)
    return chicks


def test_a_round_is_offered_answered_and_taken_back(shared, client):
    hal = Member.objects.get(name="Hal")
    client.force_login(shared.by.login)
    page = get(client)
    assert [choice.label for choice in page.context["swaps"].mine] == ["1 May, evening"]
    typed = {"give": f"{TODAY} evening", "taker": hal.pk, "take_day": "", "take_round": "evening"}
    assert post(client, "/my/swaps/offer/", **typed).url == "/my/#swaps"
    swap = Swap.objects.get()
    assert "You asked Hal to do: Friday 1 May, evening" in text_of(get(client))

    theirs = Client()
    theirs.force_login(hal.login)
    assert "Ada asks you to do: Friday 1 May, evening" in text_of(get(theirs))
    post(theirs, f"/my/swaps/{swap.pk}/decline/")
    swap.refresh_from_db()
    assert swap.state == "declined"
    post(client, "/my/swaps/offer/", **typed)
    post(client, f"/my/swaps/{Swap.objects.latest('pk').pk}/withdraw/")
    post(client, "/my/swaps/offer/", **typed)
    post(theirs, f"/my/swaps/{Swap.objects.latest('pk').pk}/accept/")
    assert [swap.state for swap in Swap.objects.order_by("pk")] == ["declined", "withdrawn", "accepted"]
    assert "Agreed." in text_of(get(theirs))
    assert FEED in {line.line.title for line in lines(get(theirs))}


def post(client: Client, address: str, **typed: Any) -> Any:
    with time_machine.travel(NOON, tick=False):
        return client.post(address, typed)


@pytest.mark.parametrize(
    "wrong",
    [
        {"taker": ""},
        {"taker": "x"},
        {"taker": "9" * 40},
        {"give": ""},
        {"give": "soon evening"},
        {"give": f"{TODAY} night"},
        {"take_day": "soon"},
    ],
)
def test_an_offer_that_cannot_be_read_is_refused_in_words(shared, client, wrong):
    hal = Member.objects.get(name="Hal")
    client.force_login(shared.by.login)
    answer = post(client, "/my/swaps/offer/", **{"give": f"{TODAY} evening", "taker": hal.pk} | wrong)
    assert answer.status_code in (302, 404)
    assert not Swap.objects.exists()


def test_a_swap_offered_to_somebody_else_is_not_mine_to_answer(shared, client):
    hal = Member.objects.get(name="Hal")
    swap = swaps.offer(shared.by, taker_id=hal.pk, give=(TODAY, "evening"))
    cara = shared.add_member("Cara", Role.HELPER)
    client.force_login(cara.login)
    assert "asks you" not in text_of(get(client))
    assert post(client, f"/my/swaps/{swap.pk}/accept/").status_code == 403
    assert post(client, f"/my/swaps/{swap.pk}/steal/").status_code == 404
