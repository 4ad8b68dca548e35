"""To browsers: readable by that browser alone, sent nowhere but to a push service, and given up when it is gone."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler

import http_ece
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.services.channels import ChannelRefused, Message, NotSent, addresses, web_push
from farm.services.channels.encryption import MOST_BYTES, MOST_TEXT_BYTES, for_browser
from tests.farm.channels_world import HOST, Browser, Stub, always, browser, certificate, web_server

MESSAGE = Message("Cold night", "Shut the window: −3 °C", "https://birds.example/today", "alert:7")


@pytest.fixture(scope="module")
def pem(tmp_path_factory):
    return certificate(tmp_path_factory.mktemp("push"), HOST)


@pytest.fixture
def stub(pem, monkeypatch, settings) -> Iterator[Stub]:
    """A push service by a public-looking name, on this machine, whose certificate the system trusts."""
    settings.PRIVATE_PUSH = True
    monkeypatch.setenv("SSL_CERT_FILE", str(pem))
    monkeypatch.setattr(
        addresses, "resolve", lambda host, port: ["127.0.0.1"] if host == HOST else pytest.fail(host)
    )
    with web_server(always(201), pem) as found:
        yield found


@pytest.fixture
def hers(stub: Stub) -> Browser:
    return browser(f"https://{HOST}:{stub.port}/push/hush")


def read(hers: Browser, body: bytes) -> dict[str, str]:
    return json.loads(http_ece.decrypt(body, private_key=hers.key, auth_secret=hers.auth))


def refusal(hers: Browser, timeout: float = 5.0, **changed) -> NotSent:
    with pytest.raises(NotSent) as refused:
        web_push.send(hers.address(**changed), MESSAGE, timeout)
    assert "hush" not in refused.value.text
    return refused.value


def test_the_browser_reads_the_message_and_nobody_on_the_way_does(stub: Stub, hers: Browser) -> None:
    web_push.send(hers.address(), MESSAGE, 5.0)
    (asked,) = stub.asked
    said = read(hers, asked.body)
    assert (said["title"], said["body"]) == ("Cold night", "Shut the window: −3 °C")
    assert said["url"] == "https://birds.example/today"
    assert b"window" not in asked.body


def test_the_push_service_learns_how_long_and_how_urgent_and_no_more(stub: Stub, hers: Browser) -> None:
    web_push.send(hers.address(), MESSAGE, 5.0)
    headers = stub.asked[0].headers
    assert stub.asked[0].method == "POST"
    assert (headers["TTL"], headers["Urgency"]) == ("86400", "normal")
    assert (headers["Content-Encoding"], headers["Content-Length"]) == (
        "aes128gcm",
        str(len(stub.asked[0].body)),
    )
    assert headers["Authorization"].startswith("vapid t=")
    assert headers["Authorization"].endswith(f", k={web_push.public_key()}")
    assert "alert:7" not in str(headers)


def test_the_same_key_has_the_same_topic_and_another_another(stub: Stub, hers: Browser) -> None:
    for key in ("alert:7", "alert:7", "alert:8"):
        web_push.send(hers.address(), Message("a", "b", "", key), 5.0)
    first, again, other = (asked.headers["Topic"] for asked in stub.asked)
    assert first == again != other
    assert len(first) == 32
    assert set(first) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")


def test_no_two_messages_are_encrypted_alike(stub: Stub, hers: Browser) -> None:
    for _ in range(2):
        web_push.send(hers.address(), MESSAGE, 5.0)
    one, other = (asked.body for asked in stub.asked)
    assert one[:16] != other[:16]
    assert one[21:86] != other[21:86]


@pytest.mark.parametrize("status", [200, 201, 202])
def test_what_the_push_service_takes_is_sent(stub: Stub, hers: Browser, status: int) -> None:
    stub.answer = always(status)
    web_push.send(hers.address(), MESSAGE, 5.0)


@pytest.mark.parametrize("status", [404, 410])
def test_a_subscription_that_is_gone_is_gone_for_good(stub: Stub, hers: Browser, status: int) -> None:
    stub.answer = always(status)
    failure = refusal(hers)
    assert failure.lasting
    assert "no longer takes messages" in failure.text


@pytest.mark.parametrize("status", [400, 401, 403, 413])
def test_what_the_push_service_refuses_it_refuses_again(stub: Stub, hers: Browser, status: int) -> None:
    stub.answer = always(status, b"hush")
    assert refusal(hers).lasting


@pytest.mark.parametrize("status", [204, 302, 408, 418, 429, 500, 502, 503])
def test_all_else_is_tried_again(stub: Stub, hers: Browser, status: int) -> None:
    stub.answer = always(status, Location="https://127.0.0.1/hush")
    assert not refusal(hers).lasting
    assert len(stub.asked) == 1


@pytest.mark.parametrize(
    "said, wait_s",
    [("120", 120), ("0", 0), ("9" * 20, 604_800), ("soon", None), ("-5", None), ("١", None), ("", None)],
)
def test_the_push_service_is_left_alone_for_as_long_as_it_asks(stub, hers, said: str, wait_s) -> None:
    stub.answer = lambda handler: retry_after(handler, said)
    assert refusal(hers).wait_s == wait_s


def retry_after(handler: BaseHTTPRequestHandler, said: str) -> None:
    handler.wfile.write(f"HTTP/1.1 429 Slow\r\nRetry-After: {said}\r\nContent-Length: 0\r\n\r\n".encode())


def test_slow_and_huge_and_garbage_are_tried_again(stub: Stub, hers: Browser) -> None:
    for answer in (
        lambda handler: time.sleep(1.5),
        always(201, b"x" * 100_000),
        lambda handler: handler.wfile.write(b"\xff garbage"),
    ):
        stub.answer, begun = answer, time.monotonic()
        assert not refusal(hers, timeout=0.7).lasting
        assert time.monotonic() - begun < 3


@pytest.mark.parametrize(
    "endpoint",
    [
        "https://169.254.169.254/hush",
        "https://127.0.0.1/hush",
        "https://[::1]/hush",
        "https://2130706433/hush",
    ],
)
def test_a_subscription_that_points_at_the_neighbourhood_is_refused(endpoint: str) -> None:
    failure = refusal(browser(endpoint))
    assert not failure.wait_s
    assert failure.lasting or "could be found" in failure.text


def test_a_name_that_points_at_the_neighbourhood_is_refused(stub: Stub, hers: Browser, settings) -> None:
    settings.PRIVATE_PUSH = False
    assert refusal(hers).lasting
    assert stub.asked == []


BROKEN = {
    "no JSON": lambda hers: "hush",
    "a list": lambda hers: "[]",
    "no endpoint": lambda hers: hers.address(endpoint=None),
    "a number": lambda hers: hers.address(endpoint=7),
    "no TLS": lambda hers: hers.address(endpoint="http://push.example/hush"),
    "a file": lambda hers: hers.address(endpoint="file:///etc/passwd"),
    "a line break": lambda hers: hers.address(endpoint="https://push.example/\r\nX-Evil: 1"),
    "no keys": lambda hers: hers.address(keys={}),
    "keys of another shape": lambda hers: hers.address(keys=["p256dh", "auth"]),
    "a short secret": lambda hers: hers.address(keys=keys(hers, auth="AAAA")),
    "no base64": lambda hers: hers.address(keys=keys(hers, auth="!!!!")),
    "a point off the curve": lambda hers: hers.address(keys=keys(hers, p256dh="B" + "A" * 86)),
    "the point at infinity": lambda hers: hers.address(keys=keys(hers, p256dh="AA")),
    "a compressed point": lambda hers: hers.address(keys=keys(hers, p256dh="A" + "g" + "A" * 42)),
    "far too much": lambda hers: hers.address(more="x" * 5_000),
}


def keys(hers: Browser, **changed: str) -> dict[str, str]:
    return json.loads(hers.address())["keys"] | changed


@pytest.mark.parametrize("broken", BROKEN)
def test_what_no_browser_made_is_refused_at_once_and_for_good(broken: str) -> None:
    address = BROKEN[broken](browser("https://push.example/hush"))
    with pytest.raises(ChannelRefused) as at_check:
        web_push.check(address)
    assert "hush" not in str(at_check.value)
    with pytest.raises(NotSent) as at_send:
        web_push.send(address, MESSAGE, 1.0)
    assert at_send.value.lasting


def test_the_label_is_the_push_services_host_and_no_more() -> None:
    assert web_push.check(browser("https://push.example:8443/hush").address()) == "push.example"


@given(
    st.text(st.characters(exclude_categories=["Cs"])),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=60),
    st.integers(1, 300),
)
def test_every_message_fits_and_loses_only_the_end_of_its_body(title: str, body: str, times: int) -> None:
    data = web_push.payload(Message(title, body * times, "https://birds.example/today", "k"))
    assert len(data) <= MOST_TEXT_BYTES
    said = json.loads(data)
    assert said["url"] == "https://birds.example/today"
    whole = body * times
    assert said["body"] == whole or (said["body"].endswith("…") and whole.startswith(said["body"][:-1]))


@pytest.mark.parametrize("letter", ["x", "ü", "鶏", "🐣", '"', "\n", "\x01"])
def test_a_long_body_uses_the_room_there_is(letter: str) -> None:
    data = web_push.payload(Message("Title", letter * 5_000, "https://birds.example/", "k"))
    assert MOST_TEXT_BYTES - 9 <= len(data) <= MOST_TEXT_BYTES


def test_a_body_that_just_fits_is_not_cut() -> None:
    room = MOST_TEXT_BYTES - len(web_push.payload(Message("T", "", "", "k")))
    assert json.loads(web_push.payload(Message("T", "x" * room, "", "k")))["body"] == "x" * room
    assert json.loads(web_push.payload(Message("T", "x" * (room + 1), "", "k")))["body"].endswith("x…")


def test_the_largest_text_makes_exactly_the_largest_message() -> None:
    hers = browser("https://push.example/")
    point = web_push.vapid.decoded(keys(hers)["p256dh"])
    assert len(for_browser(b"x" * MOST_TEXT_BYTES, browser=point, auth=hers.auth)) == MOST_BYTES
    with pytest.raises(ValueError, match="too long"):
        for_browser(b"x" * (MOST_TEXT_BYTES + 1), browser=point, auth=hers.auth)


def test_a_link_that_is_no_link_of_ours_is_left_out() -> None:
    assert (
        json.loads(web_push.payload(Message("T", "b", "https://birds.example/" + "x" * 2_000, "k")))["url"]
        == ""
    )
