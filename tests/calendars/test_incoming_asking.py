"""Asking where a calendar is: what counts as an address, what is said with the question, what the answers mean."""

from __future__ import annotations

from pathlib import Path
from ssl import SSLContext

import pytest

from calendars.incoming import asking, bounds
from calendars.incoming.records import Unreadable
from tests.calendars.incoming_world import address, calendar, served
from tests.farm.channels_world import HOST, always, reply


@pytest.fixture
def stub(monkeypatch, pem: Path, trust: SSLContext):
    with served(
        monkeypatch, pem, trust, calendar(), ETag='"a1"', Last_Modified="Fri, 01 May 2026 08:00:00 GMT"
    ) as found:
        yield found


def why(of: str, **known: str) -> str:
    with pytest.raises(Unreadable) as refused:
        asking.ask(of, **known)
    assert of not in str(refused.value)
    return refused.value.why


@pytest.mark.parametrize(
    "typed",
    ["webcal://school.example/a.ics", " https://school.example/a.ics ", "WEBCALS://school.example/a.ics"],
)
def test_a_calendar_is_asked_by_https_whatever_the_address_began_with(typed: str):
    assert asking.address_of(typed) == "https://school.example/a.ics"
    assert asking.host_of(asking.address_of(typed)) == "school.example"


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "http://school.example/a.ics",
        "file:///etc/passwd",
        "ftp://x/",
        "https://u:p@x/",
        "https://x y/",
        "webcal://",
    ],
)
def test_other_addresses_are_not_taken(typed: str):
    with pytest.raises(Unreadable, match="address"):
        asking.address_of(typed)


def test_the_farms_own_calendars_are_not_read_back(settings):
    settings.ADDRESS = "https://farm.example"
    with pytest.raises(Unreadable, match="own"):
        asking.address_of("webcal://farm.example/c/secret.ics")
    assert asking.address_of("https://farm.example:8443/c/x.ics")


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "[::1]", "169.254.169.254", "10.0.0.1", "192.168.1.1", "[fd00::1]", "0x7f.1"]
)
def test_nothing_in_the_neighbourhood_is_asked(host: str):
    assert why(f"https://{host}/a.ics") in ("private", "unresolved")


def test_a_name_is_judged_by_the_address_that_is_then_asked(monkeypatch):
    """A public name that points into the house the moment after it was judged gets nowhere near it."""
    import socket

    answers = iter([["8.8.8.8"], ["127.0.0.1"]])
    tried: list[tuple[str, int]] = []

    def look_up(host, port, **_more):
        return [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (each, port)) for each in next(answers)]

    def connect(to, timeout):
        tried.append(to)
        raise ConnectionRefusedError

    monkeypatch.setattr(socket, "getaddrinfo", look_up)
    monkeypatch.setattr(socket, "create_connection", connect)
    assert why("https://rebinding.example/a.ics") == "unreachable"
    assert tried == [("8.8.8.8", 443)]


def test_the_first_question_wants_it_whole_and_uncompressed(stub):
    answer = asking.ask(address(stub))
    assert answer == asking.Answer(calendar(), '"a1"', "Fri, 01 May 2026 08:00:00 GMT")
    headers = stub.asked[0].headers
    assert headers["Accept-Encoding"] == "identity"
    assert "If-None-Match" not in headers
    assert "If-Modified-Since" not in headers


def test_later_questions_want_only_what_is_new(stub):
    stub.answer = always(304)
    answer = asking.ask(address(stub), etag='"a1"', modified="then")
    assert answer == asking.Answer(None, '"a1"', "then")
    assert (stub.asked[0].headers["If-None-Match"], stub.asked[0].headers["If-Modified-Since"]) == (
        '"a1"',
        "then",
    )


def test_nothing_new_is_no_answer_to_who_knows_nothing(stub):
    stub.answer = always(304)
    assert why(address(stub)) == "status"


@pytest.mark.parametrize(
    "status, reason",
    [
        (401, "refused"),
        (403, "refused"),
        (404, "missing"),
        (410, "missing"),
        (500, "status"),
        (204, "status"),
    ],
)
def test_a_status_is_said_plainly(stub, status: int, reason: str):
    stub.answer = always(status)
    assert why(address(stub)) == reason


def test_a_few_redirects_are_followed_and_no_more(stub):
    def onward(handler) -> None:
        left = int(handler.path.strip("/"))
        if left:
            reply(handler, 302, Location=f"/{left - 1}")
        else:
            reply(handler, 200, calendar())

    stub.answer = onward
    assert asking.ask(address(stub, "/3")).octets == calendar()
    assert why(address(stub, "/4")) == "redirects"


@pytest.mark.parametrize(
    "onward, reason", [("http://push.example/", "address"), ("file:///etc/passwd", "address")]
)
def test_a_redirect_leads_nowhere_that_could_not_be_asked(stub, onward: str, reason: str):
    stub.answer = always(302, Location=onward)
    assert why(address(stub)) == reason


def test_a_redirect_into_the_neighbourhood_is_judged_anew(stub, monkeypatch):
    from functools import partial

    look_up = lambda host, port: ["169.254.169.254" if host == "inside.example" else "127.0.0.1"]  # noqa: E731
    monkeypatch.setattr(asking.fetching, "fetch", partial(asking.fetching.fetch, look_up=look_up))
    stub.answer = always(302, Location=f"https://inside.example:{stub.port}/latest/meta-data")
    assert why(address(stub)) == "private"
    assert len(stub.asked) == 1


def test_a_redirect_to_another_host_does_not_carry_what_is_known(stub):
    stub.answer = lambda handler: (
        reply(handler, 302, Location=f"https://{HOST}:{stub.port}/b")
        if handler.path == "/a"
        else reply(handler, 304)
    )
    assert asking.ask(address(stub, "/a"), etag='"a1"').octets is None  # the same host: it does
    stub.answer = lambda handler: reply(handler, 302, Location=f"https://127.0.0.1:{stub.port}/b")
    why(address(stub, "/a"), etag='"a1"')
    assert "If-None-Match" not in stub.asked[-1].headers


def test_too_large_an_answer_is_not_read_to_its_end(stub):
    stub.answer = always(200, b"x" * (bounds.MOST_BYTES + 1))
    assert why(address(stub)) == "large"


def test_a_tag_that_could_not_be_sent_back_is_not_kept(stub):
    stub.answer = always(200, calendar(), ETag='"' + "x" * 300 + '"', Last_Modified="l\u00f6ng ago")
    answer = asking.ask(address(stub))
    assert (answer.etag, answer.modified) == ("", "")
