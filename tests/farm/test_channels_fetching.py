"""Asking an address somebody else named: to the judged host alone, over trusted TLS, within time and size."""

from __future__ import annotations

import socket
import ssl
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler
from itertools import count
from pathlib import Path

import pytest

from farm.services.channels.fetching import WHY, Answer, Limits, Request, Unfetched, fetch
from tests.farm.channels_world import HOST, Stub, always, certificate, reply, web_server

#: The stub is on this machine, which counts as a household's own network.
HERE = Limits(seconds=3.0, most_bytes=1_000, private=True)


@pytest.fixture(scope="module")
def pem(tmp_path_factory) -> Path:
    return certificate(tmp_path_factory.mktemp("tls"), HOST)


@pytest.fixture(scope="module")
def trust(pem: Path) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=str(pem))


@pytest.fixture
def stub(pem: Path) -> Iterator[Stub]:
    with web_server(always(200, b"hello"), pem) as found:
        yield found


def here(host: str, port: int) -> list[str]:
    return ["127.0.0.1"]


def ask(stub: Stub, trust: ssl.SSLContext, path: str = "/", limits: Limits = HERE, **request) -> Answer:
    asked = Request(f"https://{HOST}:{stub.port}{path}", **request)
    return fetch(asked, limits=limits, look_up=here, context=trust)


def why(stub: Stub, trust: ssl.SSLContext, path: str = "/", limits: Limits = HERE, **request) -> str:
    with pytest.raises(Unfetched) as refused:
        ask(stub, trust, path, limits, **request)
    assert refused.value.why in WHY
    return refused.value.why


def test_an_answer_comes_back_whole_whatever_its_status(stub: Stub, trust: ssl.SSLContext) -> None:
    stub.answer = always(418, b"short and stout", X_Kind="teapot")
    answer = ask(stub, trust)
    assert (answer.status, answer.body, answer.headers["X-Kind"]) == (418, b"short and stout", "teapot")


def test_the_question_arrives_as_it_was_put(stub: Stub, trust: ssl.SSLContext) -> None:
    ask(stub, trust, "/a%20b/ü?q=1&r=ä", method="POST", headers={"TTL": "60"}, body=b"\x00\x01")
    (asked,) = stub.asked
    assert (asked.method, asked.path, asked.body) == ("POST", "/a%20b/%C3%BC?q=1&r=%C3%A4", b"\x00\x01")
    assert (asked.headers["TTL"], asked.headers["Host"]) == ("60", f"{HOST}:{stub.port}")


@pytest.mark.parametrize(
    "url",
    [
        "http://push.example/",
        "ftp://push.example/",
        "file:///etc/passwd",
        "push.example",
        "",
        "https://",
        "https://user:pw@push.example/",
        "https://push.example:port/",
        "https://push.example:99999/",
        "https://push.example/a b",
        "https://push.example/\r\nX-Evil: 1",
        "https://push.example/\x00",
        "https://[::1",
        "https://push.example\u2028/",
    ],
)
def test_what_is_no_https_address_is_asked_nothing(url: str) -> None:
    with pytest.raises(Unfetched) as refused:
        fetch(url, look_up=lambda host, port: pytest.fail("nothing is looked up"))
    assert refused.value.why == "address"


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "[::1]", "169.254.169.254", "2130706433", "localhost", "0x7f.1"]
)
def test_the_servers_own_neighbourhood_is_never_asked(stub: Stub, host: str) -> None:
    with pytest.raises(Unfetched) as refused:
        fetch(f"https://{host}:{stub.port}/")
    assert refused.value.why in ("private", "unresolved")
    assert stub.asked == []


def test_the_name_is_looked_up_once_and_the_judged_address_is_the_one_connected_to(
    stub: Stub, trust: ssl.SSLContext, monkeypatch
) -> None:
    """A name that is public when it is judged, and this machine a moment later, gets nowhere."""
    numbers, tried = count(), []

    def rebinding(host: str, port: int) -> list[str]:
        return ["203.0.114.7"] if next(numbers) == 0 else ["127.0.0.1"]

    def connect(address: tuple[str, int], timeout: float) -> socket.socket:
        tried.append(address)
        raise ConnectionRefusedError

    monkeypatch.setattr(socket, "create_connection", connect)
    with pytest.raises(Unfetched, match="unreachable"):
        fetch(f"https://{HOST}:{stub.port}/", look_up=rebinding, context=trust)
    assert tried == [("203.0.114.7", stub.port)]
    assert next(numbers) == 1
    assert stub.asked == []


def test_a_second_address_is_tried_when_the_first_does_not_answer(stub: Stub, trust: ssl.SSLContext) -> None:
    url = f"https://{HOST}:{stub.port}/"
    answer = fetch(url, limits=HERE, look_up=lambda host, port: ["127.0.0.9", "127.0.0.1"], context=trust)
    assert answer.body == b"hello"


def test_a_certificate_of_another_name_or_of_nobody_is_not_trusted(stub: Stub, trust: ssl.SSLContext) -> None:
    for host, context in (("other.example", trust), (HOST, None)):
        with pytest.raises(Unfetched, match="untrusted"):
            fetch(f"https://{host}:{stub.port}/", limits=HERE, look_up=here, context=context)
    assert stub.asked == []


def test_a_closed_port_cannot_be_reached(trust: ssl.SSLContext) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        stub = Stub(always(200), port=free.getsockname()[1])
    assert why(stub, trust) == "unreachable"


def test_a_port_without_tls_cannot_be_reached(trust: ssl.SSLContext) -> None:
    with web_server(always(200)) as plain:
        assert why(plain, trust) == "unreachable"
        assert plain.asked == []


def drip(handler: BaseHTTPRequestHandler) -> None:
    handler.send_response(200)
    handler.end_headers()
    for _ in range(100):
        handler.wfile.write(b" ")
        time.sleep(0.05)


def drip_headers(handler: BaseHTTPRequestHandler) -> None:
    handler.wfile.write(b"HTTP/1.1 200 OK\r\nX: ")
    for _ in range(100):
        handler.wfile.write(b"x")
        time.sleep(0.05)


def on_and_on(handler: BaseHTTPRequestHandler) -> None:
    for _ in range(100):
        handler.wfile.write(b"HTTP/1.1 100 Continue\r\n\r\n")
        time.sleep(0.05)


@pytest.mark.parametrize("answer", [drip, drip_headers, on_and_on, lambda handler: time.sleep(2)])
def test_the_time_is_over_however_often_one_more_byte_comes(stub: Stub, trust, answer) -> None:
    stub.answer = answer
    begun = time.monotonic()
    assert why(stub, trust, limits=Limits(0.6, 1_000, private=True)) == "slow"
    assert time.monotonic() - begun < 1.5


def test_a_handshake_that_never_ends_is_slow(trust: ssl.SSLContext) -> None:
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        stub = Stub(always(200), port=silent.getsockname()[1])
        assert why(stub, trust, limits=Limits(0.4, private=True)) == "slow"


def flood(handler: BaseHTTPRequestHandler) -> None:
    handler.send_response(200)
    handler.end_headers()
    for _ in range(1_000):
        handler.wfile.write(b" " * 65_536)


def chunked(handler: BaseHTTPRequestHandler) -> None:
    handler.wfile.write(b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n")
    for _ in range(1_000):
        handler.wfile.write(b"400\r\n" + b" " * 1024 + b"\r\n")


BAD = {
    "a flood": (flood, "large"),
    "a flood in chunks": (chunked, "large"),
    "one byte too many": (always(200, b"x" * 1_001), "large"),
    "more announced than is wanted": (always(200, b"x", Content_Length="99999999"), "large"),
    "half an answer": (always(200, b"x", Content_Length="500"), "unreachable"),
    "no HTTP": (lambda handler: handler.wfile.write(b"\xff\xfe garbage\r\n\r\n"), "odd"),
    "a line without end": (lambda handler: handler.wfile.write(b"HTTP/1.1 200 " + b"x" * 100_000), "odd"),
    "nothing at all": (lambda handler: None, "unreachable"),
    "headers without end": (
        lambda handler: handler.wfile.write(b"HTTP/1.1 200 OK\r\n" + b"A: b\r\n" * 5_000),
        "odd",
    ),
    "chunks that are none": (
        lambda handler: handler.wfile.write(b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n"),
        "odd",
    ),
}


@pytest.mark.parametrize("bad", BAD)
def test_what_is_no_sound_answer_is_told_from_one(stub: Stub, trust: ssl.SSLContext, bad: str) -> None:
    stub.answer, expected = BAD[bad]
    assert why(stub, trust) == expected


def test_exactly_as_many_bytes_as_allowed_are_fine(stub: Stub, trust: ssl.SSLContext) -> None:
    stub.answer = always(200, b"x" * 1_000)
    assert len(ask(stub, trust).body) == 1_000


def test_without_leave_a_redirect_is_an_answer_like_any_other(stub: Stub, trust: ssl.SSLContext) -> None:
    stub.answer = always(302, Location="https://127.0.0.1/")
    assert ask(stub, trust).status == 302
    assert len(stub.asked) == 1


FOLLOW = Limits(seconds=3.0, most_bytes=1_000, redirects=2, private=True)


def moved(to: str, status: int = 301):
    def answer(handler: BaseHTTPRequestHandler) -> None:
        reply(handler, 200, b"found") if handler.path == "/new" else reply(handler, status, Location=to)

    return answer


def test_with_leave_it_is_followed_and_keeps_its_headers_within_the_host(stub: Stub, trust) -> None:
    stub.answer = moved("/new")
    answer = ask(stub, trust, limits=FOLLOW, headers={"Authorization": "hush"})
    assert (answer.body, answer.url) == (b"found", f"https://{HOST}:{stub.port}/new")
    assert stub.asked[1].headers["Authorization"] == "hush"


def test_no_secret_goes_along_to_another_host(stub: Stub, trust: ssl.SSLContext) -> None:
    stub.answer = moved(f"https://127.0.0.1:{stub.port}/new", 307)
    headers = {"Authorization": "hush", "X-Token": "hush", "Accept": "text/calendar"}
    assert ask(stub, trust, limits=FOLLOW, headers=headers).body == b"found"
    assert "hush" not in str(stub.asked[1].headers)
    assert stub.asked[1].headers["Accept"] == "text/calendar"


@pytest.mark.parametrize(
    "to, expected",
    [
        ("http://push.example/", "address"),
        ("file:///etc/passwd", "address"),
        ("https://169.254.169.254/latest", "private"),
        ("https://[::1", "odd"),
        ("/again", "redirects"),
    ],
)
def test_a_redirect_to_where_nobody_may_go_is_not_followed(stub: Stub, trust, to: str, expected: str) -> None:
    stub.answer = always(302, Location=to)
    look_up = lambda host, port: [host if host != HOST else "127.0.0.1"]  # noqa: E731
    with pytest.raises(Unfetched) as refused:
        fetch(f"https://{HOST}:{stub.port}/", limits=FOLLOW, look_up=look_up, context=trust)
    assert refused.value.why == expected
    assert len(stub.asked) <= 3


def test_what_has_a_body_is_never_sent_on(stub: Stub, trust: ssl.SSLContext) -> None:
    stub.answer = moved("/new", 307)
    assert ask(stub, trust, limits=FOLLOW, method="POST", body=b"secret").status == 307
    assert len(stub.asked) == 1


def test_no_part_of_a_failure_tells_the_address(stub: Stub, trust: ssl.SSLContext) -> None:
    stub.answer = always(200, b"x" * 2_000)
    with pytest.raises(Unfetched) as refused:
        ask(stub, trust, "/hush-hush")
    assert "hush" not in f"{refused.value!r} {refused.value.args}"


def test_headers_that_would_begin_another_are_not_sent(stub: Stub, trust: ssl.SSLContext) -> None:
    assert why(stub, trust, headers={"TTL": "1\r\nX-Evil: 1"}) == "odd"
    assert stub.asked == []
