"""The personal page: what it shows signed in and over a link, its plain forms, its queue, and who is kept out."""

from __future__ import annotations

import json
import logging
import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO, StringIO
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from farm.models import Assignment, ChoreMark, CountEntry, HistoryEntry, MarkPhoto, Member, PersonalLink, Swap
from farm.models.member import Role
from farm.services import chores, members, own_chores, personal_links, photos, rota, swaps
from farm.settings.redact import RedactingFormatter
from farm.web.my import brake
from tests.conftest import NOON, TODAY, World
from tests.web.my_pages import (
    FEED,
    HEAT,
    answers,
    get,
    item,
    line_of,
    lines,
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


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (60, 40), "green").save(out, "JPEG")
    return out.getvalue()


# What is shown


def test_the_round_it_is_now_comes_first_with_what_belongs_to_each_line(ada):
    page = get(ada)
    assert [one.key for one in page.context["work"].today.rounds] == ["morning", "evening"]
    assert [one.current for one in page.context["work"].today.rounds] == [True, False]
    late = get(ada, at=NOON + timedelta(hours=8))
    assert [one.key for one in late.context["work"].today.rounds] == ["evening", "morning"]
    text = text_of(page)
    for said in (
        "Friday 1 May",
        "Feed and water",
        "8 min",
        "Clean, full feeders",
        "Wash your hands",
        "adults only",
    ):
        assert said in text


def test_two_more_days_can_be_read_and_not_yet_ticked(ada):
    page = get(ada)
    ahead = page.context["work"].ahead
    assert [one.day for one in ahead] == [TODAY + timedelta(days=1), TODAY + timedelta(days=2)]
    assert all(one.lines for one in ahead)
    assert "Saturday 2 May" in text_of(page)
    ids = re.findall(r'data-line="[^|]+\|([^|]+)\|', page.content.decode())
    assert max(ids) == TODAY.isoformat()


def test_how_much_is_done_is_said(ada):
    page = get(ada)
    total = page.context["work"].total
    assert f"0 of {total} done , about " in text_of(page)
    press(ada, line_of(page))
    assert f"1 of {total} done" in text_of(get(ada))
    for line in lines(page):
        press(ada, line)
    assert "All done for the day." in text_of(get(ada))


def test_with_a_rota_a_member_sees_their_own_chores_and_who_else_is_on_them(chicks, client):
    hal, kim = chicks.add_member("Hal", Role.HELPER), chicks.add_member("Kim", Role.CHILD, login=False)
    rota.start(chicks.by)
    Assignment.objects.all().delete()
    source = f"room:{chicks.housing['Brooder 1'].pk}/feed_water"
    for seat, by in enumerate((hal, kim)):
        Assignment.objects.create(
            farm=chicks.farm,
            source=source,
            due=TODAY,
            round="morning",
            seat=seat,
            day=TODAY,
            member=by.member,
        )
    client.force_login(hal.login)
    page = get(client)
    assert [(line.line.title, line.others) for line in lines(page)] == [(FEED, ("Kim",))]
    assert "with Kim" in text_of(page)


def test_a_child_is_told_beside_whom_and_sees_only_its_own_work(chicks, kim, client):
    page = get(client, kim)
    assert "You do these beside an adult: Ada." in text_of(page)
    assert HEAT not in text_of(page)
    assert {line.line.may for line in lines(page)} == {True}


def test_a_farm_without_birds_has_an_empty_page(world, client):
    client.force_login(world.by.login)
    assert "Nothing for you today." in text_of(get(client))


# Plain forms


def test_a_line_is_ticked_noted_and_opened_again_by_plain_forms(ada, chicks):
    answer = press(ada, line_of(get(ada)))
    assert (answer.status_code, answer.url) == (302, f"/my/#my-{line_of(get(ada)).name}")
    assert "done, Ada, 12:00" in text_of(get(ada))
    press(ada, line_of(get(ada)), "note", note="all eaten")
    assert ChoreMark.objects.get().note == "all eaten"
    press(ada, line_of(get(ada)), "untick")
    assert not ChoreMark.objects.exists()


def test_a_form_sent_twice_is_one_tick_and_another_button_is_another_thing(ada):
    line = line_of(get(ada))
    press(ada, line)
    press(ada, line)
    assert HistoryEntry.objects.filter(verb="tick").count() == 1
    press(ada, line, "untick")
    assert not ChoreMark.objects.exists()


def test_what_is_refused_is_said_on_the_page_itself(ada):
    answer = press(ada, line_of(get(ada)), "skip")
    assert answer.status_code == 200
    assert f"{FEED} : Write why it is left out, in a word or two." in text_of(answer)


def test_a_chore_is_left_out_with_its_reason(ada):
    press(ada, line_of(get(ada)), "skip", note="vet comes")
    assert "skipped, Ada, 12:00: vet comes" in text_of(get(ada))


def test_deaths_are_counted_where_they_happened(ada, chicks):
    page = get(ada)
    assert "Birds died here" in text_of(page)
    (place,) = (one for one in page.context["work"].today.rounds[0].places if one.batches)
    typed = {"key": place.form_key, "kind": "died", "batch": place.batches[0].pk, "housing": place.housing}
    for _ in range(2):
        ada.post("/my/", typed | {"birds": "3", "line": "round-morning"})
    entry = CountEntry.objects.get(kind="died")
    assert (entry.birds, entry.housing, entry.batch.name) == (-3, chicks.housing["Brooder 1"], "Spring")


@pytest.mark.parametrize("birds", ["", "-3", "3.5", "many", "9" * 30, "٣x"])
def test_a_number_that_is_none_counts_nobody(ada, birds):
    (place,) = (one for one in get(ada).context["work"].today.rounds[0].places if one.batches)
    typed = {"key": "k", "kind": "died", "batch": place.batches[0].pk, "housing": place.housing}
    answer = ada.post("/my/", typed | {"birds": birds})
    assert "Enter a number from 1 to 5000." in text_of(answer)
    assert not CountEntry.objects.filter(kind="died").exists()


def test_where_a_picture_is_asked_for_it_is_taken_and_shown_to_the_farm(ada, chicks, elsewhere):
    own_chores.add(chicks.by, title="Look at the door", start=TODAY, asks="photo")
    page = get(ada)
    assert page.content.decode().count('capture="environment"') == 1
    line = line_of(page, "Look at the door")
    press(ada, line, photo=SimpleUploadedFile("door.jpg", picture(), "image/jpeg"))
    address = f"/my/photo/{MarkPhoto.objects.get().pk}/"
    assert f'src="{address}"' in get(ada).content.decode()
    shown = get(ada, address)
    assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert shown.content[:3] == b"\xff\xd8\xff"
    stranger = Client()
    assert get(stranger, address).status_code == 302
    stranger.force_login(elsewhere.by.login)
    assert get(stranger, address).status_code == 404


def test_where_a_note_is_asked_for_its_field_is_open(ada, chicks):
    own_chores.add(chicks.by, title="Read the meter", start=TODAY, asks="note")
    page = get(ada).content.decode()
    assert "A note is asked for." in page
    folds = re.findall(r'<details class="behind" id="how-([^"]+)"( open)?>', page)
    assert [name for name, opened in folds if opened] == [line_of(get(ada), "Read the meter").name]


def test_a_jump_back_goes_to_the_page_alone(ada, chicks):
    for line in ("//evil.example", "x\r\nSet-Cookie: a=b", "https://evil.example/", "#", ""):
        answer = press(ada, line_of(get(ada)), jump=line or "/")
        assert answer.url == "/my/"
        press(ada, line_of(get(ada)), "untick")


# Signed in and over a link


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


# The queue


def test_a_queue_is_answered_one_by_one(ada, chicks):
    line = line_of(get(ada))
    reply = sync(ada, item(line), item(line), item(line, kind="untick"), who=who(chicks))
    assert answers(reply) == [("done", ""), ("already", "You ticked this at 12:00."), ("done", "")]


def test_a_queue_of_somebody_else_is_not_taken(ada, chicks, kim):
    line = line_of(get(ada))
    for other in ("member-999", "link-1", ""):
        reply = sync(ada, item(line), who=other)
        assert reply.status_code == 409
        assert "somebody else" in reply.json()["text"]
    assert not ChoreMark.objects.exists()


def test_a_picture_comes_with_one_thing_at_a_time(ada, chicks):
    line = line_of(get(ada))

    def send(*items: dict[str, Any]) -> Any:
        photo = SimpleUploadedFile("p.jpg", picture(), "image/jpeg")
        sent = json.dumps({"who": who(chicks), "items": items})
        return ada.post("/my/sync/", {"sent": sent, "photo": photo})

    assert send(item(), item()).status_code == 400
    assert send().status_code == 400
    assert answers(send(item(line, at=None))) == [("done", "")]
    assert MarkPhoto.objects.count() == 1


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"items": {}}',
        b'{"items": [1]}',
        b'{"items": ["tick"]}',
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"items": ' + b"9" * 5000 + b"}",
    ],
    ids=["empty", "cut", "list", "null", "object", "number", "text", "bytes", "deep", "digits"],
)
def test_what_is_no_queue_is_refused(ada, raw):
    reply = sync(ada, raw=raw, who="")
    assert (reply.status_code, reply.json()) == (400, {"text": "This could not be read."})


def test_too_much_is_refused_before_it_is_read(ada, chicks):
    assert sync(ada, raw=b" " * (512 * 1024 + 1), who="").status_code == 413
    assert sync(ada, *[item()] * 201, who=who(chicks)).status_code == 413
    large = SimpleUploadedFile("p.jpg", b"x" * (photos.MOST_BYTES + 600 * 1024), "image/jpeg")
    assert ada.post("/my/sync/", {"sent": "{}", "photo": large}).status_code == 413
    large.seek(0)
    assert ada.post("/my/", {"photo": large}).status_code == 413


@pytest.mark.parametrize(
    "wrong",
    [
        {"key": None},
        {"key": 7},
        {"key": "k" * 65},
        {"kind": ["tick"]},
        {"due": "soon"},
        {"due": "2026-02-30"},
        {"due": 20260501},
        {"round": "night"},
        {"source": {"$gt": ""}},
        {"kind": "died", "birds": 2**70},
        {"kind": "died", "birds": True, "batch": 1.5},
        {"kind": "died", "birds": 1, "batch": 2**63},
        {"kind": "died", "birds": 1, "batch": -1},
        {"at": "2026-05-03T00:00:00Z"},
    ],
)
def test_one_thing_that_cannot_be_read_is_refused_alone(ada, chicks, wrong):
    line = line_of(get(ada))
    reply = sync(ada, item(line) | {"proof": ""} | wrong, item(line_of(get(ada), HEAT)), who=who(chicks))
    assert [status for status, _ in answers(reply)] in (["refused", "done"],)


@pytest.mark.parametrize(
    "at", [None, 5, "yesterday", "", "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59"]
)
def test_a_time_that_cannot_be_read_is_now(ada, chicks, at):
    assert answers(sync(ada, item(line_of(get(ada)), at=at), who=who(chicks))) == [("done", "")]
    assert ChoreMark.objects.get().at == NOON


def test_words_a_database_cannot_hold_are_made_so(ada, chicks):
    note = "lamp\x00 \ud83d hot"
    assert answers(sync(ada, item(line_of(get(ada)), note=note), who=who(chicks))) == [("done", "")]
    assert ChoreMark.objects.get().note == "lamp ? hot"


def test_ten_thousand_ticks_a_minute_stop_at_three_hundred_and_stop_nobody_else(ada, chicks, kim):
    statuses = []
    for n in range(50):
        things = [
            item(key=f"{n}-{m}", source="room:9/look", due="2026-05-01", round="morning") for m in range(200)
        ]
        reply = sync(ada, *things, who=who(chicks))
        statuses.append(reply.status_code)
    assert statuses == [200] + [429] * 49
    assert 1 <= int(reply["Retry-After"]) <= 60
    assert not ChoreMark.objects.exists()
    stranger = Client()
    page = get(stranger, kim)
    assert answers(sync(stranger, item(line_of(page)), who=page["X-My-Who"], base=kim)) == [("done", "")]
    assert press(ada, line_of(page)).status_code == 429


def test_over_a_link_nobody_elses_chore_is_ticked(chicks, kim, client):
    page = get(client, kim)
    evening = line_of(page, round="evening")
    heat = f"room:{chicks.housing['Brooder 1'].pk}/heat_check"
    things = [
        item(source=heat, due=TODAY.isoformat(), round="morning", title="Heat"),
        item(source="room:999/feed_water", due=TODAY.isoformat(), round="morning"),
        item(replace(evening, proof="forged"), minutes=1, title="Other"),
    ]
    found = answers(sync(client, *things, who=page["X-My-Who"], base=kim))
    assert found == [("refused", "This is not one of your chores.")] * 2 + [("done", "")]
    mark = ChoreMark.objects.get()
    assert (mark.title, mark.minutes) == (FEED, evening.line.minutes)  # the plan's words, not the sender's


def test_another_farms_link_and_ids_open_nothing(chicks, kim, client, elsewhere):
    elsewhere.add_housing("Far pen")
    elsewhere.add_batch("Far birds", age=9, housing="Far pen")
    other = Client()
    other.force_login(elsewhere.by.login)
    theirs = line_of(get(other), "Far pen: Feed and water")
    page = get(client, kim)
    assert "Far pen" not in text_of(page)
    assert answers(sync(client, item(theirs), who=page["X-My-Who"], base=kim))[0][0] == "refused"
    assert answers(sync(other, item(line_of(page)), who=get(other)["X-My-Who"]))[0][0] == "refused"
    assert not ChoreMark.objects.exists()


@pytest.mark.parametrize("address", ["/my/sync/", "/my/swaps/offer/"])
def test_what_writes_is_posted(ada, address):
    assert get(ada, address).status_code == 405


# The app


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


# Swaps


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
