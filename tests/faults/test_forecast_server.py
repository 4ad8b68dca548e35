"""A weather service that answers right, wrong, late or not at all: the last good forecast stays, and nobody waits."""

from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest

from farm.models import Forecast
from farm.services import farms, forecasting, weather
from farm.services.forecasts import Locationforecast, NoForecast
from tests.conftest import NOON, TODAY, World
from tests.farm.weather_world import settle

Answer = Callable[[BaseHTTPRequestHandler], None]
MB = 1024 * 1024


@dataclass
class Stub:
    """A server on this machine that answers as it is told; `asked` are the paths and headers it saw."""

    answer: Answer
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    url: str = ""


@pytest.fixture
def stub() -> Iterator[Stub]:
    found = Stub(lambda handler: reply(handler, weather_json()))

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            found.asked.append((self.path, dict(self.headers)))
            with suppress(BrokenPipeError, ConnectionResetError):  # whoever asked has gone
                found.answer(self)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    found.url = f"http://127.0.0.1:{server.server_port}/forecast"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield found
    server.shutdown()
    server.server_close()


@pytest.fixture
def farm(world: World, settings: Any) -> World:
    settings.FORECAST_CONTACT = "ada@example.org"
    settle(world)
    weather.prefer(world.by, expected_version=None, confidence=0.9, use_forecast=True)
    return world


def weather_json(place=(13.4, 52.5), low=4.0, high=16.0, **changed) -> str:
    """Three days, by the hour for one and by six hours after it, as the service writes them."""
    series = []
    for hour in [*range(24), *range(24, 80, 6)]:
        at = (NOON - timedelta(hours=10) + timedelta(hours=hour)).strftime("%Y-%m-%dT%H:%M:%SZ")
        data: dict[str, Any] = {"instant": {"details": {"air_temperature": (low + high) / 2}}}
        data["next_6_hours"] = {"details": {"air_temperature_min": low, "air_temperature_max": high}}
        series.append({"time": at, "data": data})
    whole = {"geometry": {"coordinates": [*place, 34]}, "properties": {"timeseries": series}}
    return json.dumps(whole | changed)


def reply(handler: BaseHTTPRequestHandler, body: str | bytes, status: int = 200, **headers: str) -> None:
    data = body.encode() if isinstance(body, str) else body
    handler.send_response(status)
    said = {name.replace("_", "-"): value for name, value in headers.items()}
    for name, value in ({"Content-Length": str(len(data))} | said).items():
        handler.send_header(name, value)
    handler.end_headers()
    handler.wfile.write(data)


def fetch(world: World, stub: Stub, now=NOON, seconds: float = 3.0) -> bool:
    service = Locationforecast(stub.url, "ada@example.org", seconds)
    return forecasting.fetch(farm_id=world.farm.pk, now=now, provider=service)


def row(world: World) -> Forecast:
    return Forecast.objects.get(farm=world.farm)


def test_a_good_answer_is_kept_by_the_farms_own_days(farm: World, stub: Stub) -> None:
    assert fetch(farm, stub)
    assert row(farm).days["2026-05-02"] == [4.0, 16.0]
    assert (row(farm).made_on, row(farm).error, row(farm).failures) == (TODAY, "", 0)


def test_the_service_is_told_who_asks_and_no_more_of_the_place_than_it_needs(farm: World, stub: Stub) -> None:
    farms.change(farm.by, latitude=52.516275, longitude=13.377704)
    fetch(farm, stub)
    ((path, headers),) = stub.asked
    assert path == "/forecast?lat=52.52&lon=13.38"
    assert "ada@example.org" in headers["User-Agent"]


def test_nobody_is_asked_before_the_answer_expires(farm: World, stub: Stub) -> None:
    expires = format_datetime(NOON + timedelta(hours=3), usegmt=True)
    stub.answer = lambda handler: reply(handler, weather_json(), Expires=expires)
    fetch(farm, stub)
    assert not fetch(farm, stub, NOON + timedelta(hours=2))
    assert len(stub.asked) == 1
    assert fetch(farm, stub, NOON + timedelta(hours=3))


def test_even_a_service_that_expires_at_once_is_asked_twice_an_hour_at_most(farm: World, stub: Stub) -> None:
    stub.answer = lambda handler: reply(handler, weather_json(), Expires="0")
    for minutes in range(0, 60, 5):
        fetch(farm, stub, NOON + timedelta(minutes=minutes))
    assert len(stub.asked) == 2


def drip(handler: BaseHTTPRequestHandler) -> None:
    handler.send_response(200)
    handler.end_headers()
    for _ in range(100):
        handler.wfile.write(b" ")
        handler.wfile.flush()
        time.sleep(0.1)


def cut(handler: BaseHTTPRequestHandler) -> None:
    body = weather_json()
    reply(handler, body[: len(body) // 2], Content_Length=str(len(body)))


def hold(handler: BaseHTTPRequestHandler) -> None:
    time.sleep(2)


def away(handler: BaseHTTPRequestHandler) -> None:
    reply(handler, "", 302, Location="http://localhost:1/elsewhere")


BAD: dict[str, tuple[Answer, str]] = {
    "an answer that trickles": (drip, "slow"),
    "no answer": (hold, "slow"),
    "trouble of its own": (lambda h: reply(h, "oops", 500), "failed"),
    "too many questions": (lambda h: reply(h, "", 429, Retry_After="7200"), "busy"),
    "a refusal": (lambda h: reply(h, "", 403), "refused"),
    "another host": (away, "refused"),
    "half an answer": (cut, "unreachable"),
    "half an answer that hides it": (lambda h: reply(h, weather_json()[:500]), "unreadable"),
    "a page": (lambda h: reply(h, "<html>Welcome</html>"), "unreadable"),
    "nothing": (lambda h: reply(h, ""), "unreadable"),
    "a list": (lambda h: reply(h, "[1, 2]"), "unreadable"),
    "no days": (lambda h: reply(h, weather_json(properties={"timeseries": []})), "unreadable"),
    "no numbers": (lambda h: reply(h, weather_json().replace("10.0", '"warm"')), "unreadable"),
    "endless numbers": (lambda h: reply(h, weather_json(low=float("-inf"))), "unreadable"),
    "numbers of another world": (lambda h: reply(h, weather_json(low=-300.0)), "unreadable"),
    "a low above its high": (lambda h: reply(h, weather_json(low=20.0, high=10.0)), "unreadable"),
    "bytes": (lambda h: reply(h, b"\xff\xfe\x00\x01" * 50), "unreadable"),
    "a flood": (lambda h: reply(h, b" " * (5 * MB)), "unreadable"),
    "nesting without end": (lambda h: reply(h, "[" * 100_000), "unreadable"),
    "another place": (lambda h: reply(h, weather_json(place=(-70.0, 10.0))), "elsewhere"),
}


@pytest.mark.parametrize("bad", BAD)
def test_what_is_no_forecast_is_written_down_and_the_last_good_one_stays(
    farm: World, stub: Stub, bad: str
) -> None:
    fetch(farm, stub)
    good = row(farm)
    stub.answer, why = BAD[bad]
    later, begun = NOON + timedelta(hours=4), time.monotonic()

    assert not fetch(farm, stub, later, seconds=0.6)

    assert time.monotonic() - begun < 2.5
    now = row(farm)
    assert (now.days, now.made_on, now.fetched_at) == (good.days, good.made_on, good.fetched_at)
    assert (now.error, now.failures) == (why, 1)
    assert now.retry_at is not None
    assert now.retry_at > later


def test_a_closed_port_is_a_service_that_cannot_be_reached(farm: World, stub: Stub) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        stub.url = f"http://127.0.0.1:{free.getsockname()[1]}/forecast"
    assert not fetch(farm, stub)
    assert row(farm).error == "unreachable"


def test_a_service_that_asks_for_two_hours_gets_two_hours(farm: World, stub: Stub) -> None:
    stub.answer = BAD["too many questions"][0]
    fetch(farm, stub)
    assert row(farm).retry_at == NOON + timedelta(hours=2)


def test_a_service_that_names_a_time_is_left_alone_until_then(farm: World, stub: Stub) -> None:
    until = NOON + timedelta(hours=9)
    stub.answer = lambda h: reply(h, "", 503, Retry_After=format_datetime(until, usegmt=True))
    fetch(farm, stub)
    assert row(farm).retry_at == until


def test_a_service_that_says_no_is_left_alone_for_a_day(farm: World, stub: Stub) -> None:
    stub.answer = BAD["a refusal"][0]
    fetch(farm, stub)
    assert row(farm).retry_at == NOON + timedelta(hours=24)


def test_waits_grow_with_each_failure_up_to_a_limit_and_end_with_success(farm: World, stub: Stub) -> None:
    stub.answer = BAD["trouble of its own"][0]
    at, waits = NOON, []
    for _ in range(8):
        fetch(farm, stub, at)
        waits.append(row(farm).retry_at - at)
        at = row(farm).retry_at
    assert waits == sorted(waits)
    assert (waits[0], waits[1], waits[-1]) == (
        timedelta(minutes=10),
        timedelta(minutes=20),
        timedelta(hours=6),
    )
    stub.answer = lambda h: reply(h, weather_json())
    assert fetch(farm, stub, at)
    assert (row(farm).failures, row(farm).error) == (0, "")


def test_a_redirect_within_the_host_is_followed(farm: World, stub: Stub) -> None:
    def moved(handler: BaseHTTPRequestHandler) -> None:
        if handler.path.startswith("/forecast"):
            return reply(handler, "", 301, Location="/new")
        return reply(handler, weather_json())

    stub.answer = moved
    assert fetch(farm, stub)


def test_without_a_contact_nothing_is_asked(farm: World, stub: Stub, settings: Any) -> None:
    settings.FORECAST_CONTACT = ""
    assert not fetch(farm, stub)
    with pytest.raises(NoForecast):
        Locationforecast(stub.url, "").fetch(52.5, 13.4, NOON)
    assert stub.asked == []


def test_a_farm_that_does_not_want_it_is_never_asked_for(farm: World, stub: Stub) -> None:
    weather.prefer(farm.by, expected_version=None, confidence=0.9, use_forecast=False)
    assert not fetch(farm, stub)
    assert stub.asked == []
