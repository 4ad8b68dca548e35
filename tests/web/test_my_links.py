"""The personal page signed in and over a link: who gets in, what a link can do, and what it tells nobody."""

from __future__ import annotations

import logging
import re
from datetime import timedelta
from io import StringIO

import pytest
from django.core.cache import cache
from django.test import Client

from farm.models import ChoreMark, HistoryEntry, PersonalLink
from farm.models.member import Role
from farm.services import chores, members, personal_links
from farm.settings.redact import RedactingFormatter
from farm.web.my import brake
from tests.conftest import NOON, TODAY, World
from tests.web.my_pages import (
    FEED,
    answers,
    get,
    item,
    line_of,
    link_of,
    press,
    sync,
    text_of,
)

GUESS = f"/my/{'x' * 32}/"
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


def who(chicks: World) -> str:
    return f"member-{chicks.keeper.pk}"


def test_without_signing_in_one_is_sent_to_sign_in(client):
    for address in ("/my/", "/my/token/"):
        assert get(client, address).url.startswith("/login/")
    assert sync(client, who="member-1").url.startswith("/login/")


def test_a_link_opens_without_session_cookie_or_token(chicks, kim):
    client = Client(enforce_csrf_checks=True)
    page = get(client, kim)
    assert page.status_code == 200
    assert page.cookies == {}
    assert {name: page[name] for name in CARRIED} == CARRIED
    assert "csrfmiddlewaretoken" not in page.content.decode()
    answer = press(client, line_of(page), base=kim)
    assert (answer.status_code, answer.url.split("#")[0], answer.cookies) == (302, kim, {})
    assert ChoreMark.objects.get().member.name == "Kim"
    assert (
        answers(sync(client, item(line_of(page), kind="skip"), who=page["X-My-Who"], base=kim))[0][0]
        == "refused"
    )
    reply = sync(client, item(line_of(page, round="evening")), who=page["X-My-Who"], base=kim)
    assert answers(reply) == [("done", "")]
    assert (reply.cookies, {name: reply[name] for name in CARRIED}) == ({}, CARRIED)


def test_a_sessions_owner_is_nobody_at_anothers_link(chicks, kim, ada):
    page = get(ada, kim)
    assert "Kim" in text_of(page)
    assert "Ada ·" not in text_of(page)
    assert page["X-My-Who"].startswith("link-")
    press(ada, line_of(page), base=kim)
    assert ChoreMark.objects.get().member.name == "Kim"
    assert HistoryEntry.objects.latest("pk").login is None


def test_signed_in_the_token_against_forged_forms_is_asked_for(chicks):
    client = Client(enforce_csrf_checks=True)
    client.force_login(chicks.by.login)
    page = get(client)
    assert press(client, line_of(page)).status_code == 403
    assert sync(client, item(line_of(page)), who=who(chicks)).status_code == 403
    fresh = get(client, "/my/token/").json()
    assert fresh["who"] == who(chicks) == page["X-My-Who"]
    reply = sync(client, item(line_of(page)), who=fresh["who"], headers={"X-CSRFToken": fresh["token"]})
    assert answers(reply) == [("done", "")]


def test_a_link_cannot_leave_out_or_count(chicks, kim, client):
    page = get(client, kim)
    assert "Leave out" not in text_of(page)
    assert "died" not in text_of(page)
    things = [item(line_of(page), kind="skip", note="no"), item(kind="died", batch=1, housing=1, birds=1)]
    reply = sync(client, *things, who=page["X-My-Who"], base=kim)
    assert {status for status, _ in answers(reply)} == {"refused"}


def test_a_keepers_link_is_no_keeper(chicks, client):
    base = link_of(chicks, chicks.keeper)
    page = get(client, base)
    assert "Swaps" not in text_of(page)
    assert "/people/" not in page.content.decode()
    reply = sync(client, item(kind="died", batch=1, housing=1, birds=1), who=page["X-My-Who"], base=base)
    assert answers(reply)[0][0] == "refused"
    assert get(client, f"{base}token/").status_code == 404
    assert get(client, "/people/").status_code == 302


def test_the_members_name_and_farm_are_shown_and_no_other_page_is_linked(chicks, kim, client):
    page = get(client, kim)
    assert "Hollow Farm · Kim" in text_of(page)
    links = set(re.findall(r'(?:href|action|src)="([^"]+)"', page.content.decode()))
    assert {one for one in links if not one.startswith(("/static/", "#"))} == {
        kim,
        f"{kim}manifest.webmanifest",
    }


@pytest.mark.django_db
def test_an_unknown_link_is_not_found_whatever_is_asked_of_it(client):
    for address in (GUESS, f"{GUESS}manifest.webmanifest"):
        assert get(client, address).status_code == 404
    assert sync(client, item(), who="link-1", base=GUESS).status_code == 404
    for short in ("/my/abc/", f"/my/{'x' * 31}/", f"/my/{'x' * 33}/"):
        assert get(client, short).status_code == 404


def test_a_guesser_is_slowed_down_and_nobody_else(chicks, kim, client):
    for _ in range(brake.MISSES):
        assert get(client, GUESS, REMOTE_ADDR="192.0.2.7").status_code == 404
    answer = get(client, GUESS, REMOTE_ADDR="192.0.2.7")
    assert (answer.status_code, answer["Retry-After"]) == (429, "600")
    assert get(client, kim, REMOTE_ADDR="192.0.2.7").status_code == 200
    assert get(client, GUESS, REMOTE_ADDR="192.0.2.8").status_code == 404


def test_a_link_switched_off_says_so_for_thirty_days_and_is_gone_afterwards(chicks, kim, client):
    link = PersonalLink.objects.get(member__name="Kim")
    personal_links.revoke(chicks.by, link_id=link.pk)
    said = get(client, kim, at=NOON + timedelta(minutes=1))
    assert (said.status_code, said["Cache-Control"]) == (200, "private, no-store")
    assert "This link was switched off. Ask a keeper of your farm for a new one." in text_of(said)
    assert "Kim" not in text_of(said)
    assert get(client, kim, at=NOON + timedelta(days=29)).status_code == 200
    assert get(client, kim, at=NOON + timedelta(days=30)).status_code == 410
    assert (
        sync(client, item(), who=f"link-{link.pk}", base=kim, at=NOON + timedelta(minutes=1)).status_code
        == 410
    )


def test_a_link_of_a_member_who_left_opens_nothing(chicks, kim, client):
    page = get(client, kim)
    member = PersonalLink.objects.get(member__name="Kim").member
    members.leave(chicks.by, member_id=member.pk)
    late = NOON + timedelta(minutes=1)
    assert "Feed and water" not in text_of(get(client, kim, at=late))
    assert sync(client, item(line_of(page)), who=page["X-My-Who"], base=kim, at=late).status_code == 410
    assert not ChoreMark.objects.exists()


def test_the_day_a_link_was_used_is_noted(chicks, kim, client):
    get(client, kim)
    assert PersonalLink.objects.get().last_used_on == TODAY


def test_no_secret_address_reaches_the_logs(chicks, kim, client):
    stream = StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(RedactingFormatter("%(message)s"))
    root = logging.getLogger()
    root.addHandler(handler)
    try:
        get(client, GUESS)
        get(client, f"{kim}nothing-here/")
        client.raise_request_exception = False
        sync(client, base=kim, raw=b"{", who="")
        client.put(kim)
    finally:
        root.removeHandler(handler)
    secret = kim.split("/")[2]
    assert secret not in stream.getvalue()
    assert "x" * 32 not in stream.getvalue()
    assert "/my/[secret]" in stream.getvalue()


def test_marks_of_others_cannot_be_opened_again_over_a_link(chicks, kim, client):
    source, due, round = line_of(get(client, kim)).key
    chores.mark(chicks.by, source=source, due=due, round=round, title=FEED)
    page = get(client, kim)
    assert not line_of(page).may_open
    assert 'value="untick"' not in page.content.decode()
    assert "only somebody who is signed in can open it again" in text_of(
        press(client, line_of(page), "untick", kim)
    )
    assert ChoreMark.objects.count() == 1
