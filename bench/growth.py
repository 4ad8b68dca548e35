"""One farm's pages, ticks and calendars beside ten thousand others; the nightly jobs with one worker and with two.

Three databases on PostgreSQL, each behind a server process of the real pages, hold the same farm and more or fewer
others. They are asked in turns over loopback, so that a busy machine slows all alike; so is Django with nothing but a
constant view. Queries are counted by Django's test client on the same databases. `--quick` measures fewer.
"""

from __future__ import annotations

import gzip
import os
import socket
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter
from typing import Any
from urllib.parse import urlencode

from bench import calendar_servers as servers
from bench import growth_databases as databases
from bench import growth_jobs as jobs
from bench.keep_alive import Answer, asked

GOAL_GROWTH, GOAL_WORKERS = 1.2, 1.8
#: The kinds of request, in the order they are measured: a tick makes a calendar old, so it comes last.
KINDS = ("today", "board", "calendar 200", "calendar 304", "tick")
_TOKEN = "a" * 32


@dataclass(frozen=True, slots=True)
class Size:
    """How much is measured: farms in the three databases, requests of each kind, farms of the night's jobs."""

    farms: tuple[int, int, int]
    turns: int
    night: int


FULL, QUICK = Size((1, 100, 10_000), 200, 250), Size((1, 20, 200), 10, 15)


@dataclass
class Place:
    """One server and what it is asked; `took` holds the seconds of each answer by kind."""

    port: int
    said: Mapping[str, Any]
    tag: str = ""
    ticked: bool = False

    def octets(self, kind: str) -> bytes:
        """Return the next request of a kind. Ticks are taken back by turns."""
        if kind == "tick":
            path, self.ticked = ("/today/unmark/" if self.ticked else "/today/mark/"), not self.ticked
            return self._request(
                "POST", path, {"X-CSRFToken": _TOKEN, "HX-Request": "true"}, self.said["tick"]
            )
        if kind.startswith("calendar"):
            headers = {"Accept-Encoding": "gzip"} | (
                {"If-None-Match": self.tag} if kind.endswith("304") else {}
            )
            return self._request("GET", f"/c/{self.said['secret']}.ics", headers)
        if kind == "constant":
            return self._request("GET", "/constant", {"Accept-Encoding": "gzip"})
        return self._request("GET", {"today": "/", "board": "/board/"}[kind], {})

    def ask(self, kind: str) -> tuple[float, Answer]:
        """Return the seconds an answer took, on a connection that is open already, and the answer."""
        octets = self.octets(kind)
        with socket.create_connection(("127.0.0.1", self.port), timeout=60) as connection:
            start = perf_counter()
            answer = asked(connection, octets)
            took = perf_counter() - start
        if answer.status != (304 if kind.endswith("304") else 200):
            raise RuntimeError(f"{kind} answered {answer.status}")
        return took, answer

    def _request(
        self, method: str, path: str, headers: Mapping[str, str], fields: Mapping[str, str] | None = None
    ) -> bytes:
        body = urlencode(fields or {}).encode()
        cookies = f"sessionid={self.said.get('session', '')}; csrftoken={_TOKEN}"
        lines = [f"{method} {path} HTTP/1.1", f"Host: localhost:{self.port}", f"Cookie: {cookies}"]
        lines += [f"{name}: {value}" for name, value in headers.items()]
        if fields:
            lines += ["Content-Type: application/x-www-form-urlencoded", f"Content-Length: {len(body)}"]
        return "\r\n".join([*lines, "", ""]).encode() + body


def measure() -> bool:
    """Print the tables; return whether every goal was reached. Without the servers nothing is, and it says so."""
    lacking = databases.missing()
    if lacking:
        print(f"  not measured, it needs servers. {lacking}")
        return False
    size = QUICK if os.environ.get("BENCH_QUICK") else FULL
    with databases.environment() as variables, ExitStack() as running:
        places = {farms: _serve(farms, variables, running) for farms in size.farms}
        constant = _constant(Path(variables["FEATHERDAYS_DATA"]), running)
        took = timed(places, constant, size.turns)
        missed = told(took, {farms: place.said["queries"] for farms, place in places.items()}, size)
    with databases.environment() as variables:
        missed += night(size, {**variables, "DATABASE_URL": databases.address(size.farms[-1])})
    print("  missed: " + "; ".join(missed) if missed else "  all goals reached")
    return not missed


def timed(places: Mapping[int, Place], constant: Place, turns: int) -> dict[tuple[str, int], list[float]]:
    """Return the seconds of each answer by (kind, farms); the constant view's are of 0 farms."""
    took: dict[tuple[str, int], list[float]] = {}
    for kind in KINDS:
        for place in places.values():
            place.ask(kind)  # once unmeasured: caches and connections are warm, as they are all day
            if kind == "calendar 200":
                place.tag = place.ask(kind)[1].tag
        if kind == "tick":
            for place in places.values():
                place.ask(kind)  # taken back again
        for _turn in range(turns):
            took.setdefault(("constant", 0), []).append(constant.ask("constant")[0])
            for farms, place in places.items():
                took.setdefault((kind, farms), []).append(place.ask(kind)[0])
    return took


def told(
    took: Mapping[tuple[str, int], list[float]], queries: Mapping[int, Mapping[str, int]], size: Size
) -> list[str]:
    """Print milliseconds, queries and growth; return the goals that were missed."""
    _least, few, many = size.farms
    bare = median(took["constant", 0])
    print(f"  constant view of bare Django: p50 {1000 * bare:.2f} ms; {size.turns} requests of each kind")
    print(
        f"  {'':13} {'farms':>6} {'p50 ms':>8} {'p95 ms':>8} {'p99 ms':>8} {'queries':>8} {'of constant':>12}"
    )
    missed = []
    for kind in KINDS:
        for farms in size.farms:
            found = took[kind, farms]
            cuts = quantiles(found, n=100, method="inclusive")
            print(
                f"  {kind:13} {farms:6d} {1000 * cuts[49]:8.2f} {1000 * cuts[94]:8.2f} {1000 * cuts[98]:8.2f}"
                f" {queries[farms][kind]:8d} {cuts[49] / bare:11.1f}x"
            )
        growth = median(took[kind, many]) / median(took[kind, few])
        more = queries[many][kind] - queries[few][kind]
        print(
            f"  {kind:13} {many} farms beside {few}: {growth:.2f}x (goal {GOAL_GROWTH}x), {more:+d} queries"
        )
        if growth > GOAL_GROWTH:
            missed.append(f"{kind} grows {growth:.2f}x")
        if more > 0:
            missed.append(f"{kind} asks {more} queries more")
    return missed


def night(size: Size, variables: Mapping[str, str], turns: int = 3) -> list[str]:
    """Print the night's jobs a second with one and two workers, in turns; return the goal if it was missed."""
    rates: dict[int, list[float]] = {1: [], 2: []}
    for _turn in range(turns):
        for workers, found in rates.items():
            found.append(jobs.rate(workers, size.night, variables))
    one, two = median(rates[1]), median(rates[2])
    print(
        f"  the night of {size.night} farms: {one:.1f} jobs/s with one worker, {two:.1f} with two,"
        f" {two / one:.2f}x (goal {GOAL_WORKERS}x) on {os.cpu_count()} processors"
    )
    return [] if two / one >= GOAL_WORKERS else [f"two workers do {two / one:.2f}x of one"]


def _serve(farms: int, variables: Mapping[str, str], running: ExitStack) -> Place:
    said = databases.prepare(farms, variables)
    there = {**variables, "DATABASE_URL": databases.address(farms)}
    return Place(running.enter_context(servers.pages(there)), said)


def _constant(folder: Path, running: ExitStack) -> Place:
    file = folder / "constant.gz"
    file.write_bytes(gzip.compress(b"constant\n" * 1000, 9, mtime=0))
    return Place(running.enter_context(servers.constant(file)), {})
