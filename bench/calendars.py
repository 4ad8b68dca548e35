"""Calendars: writing events beside icalendar's own way, and serving them beside a view that returns a constant.

One run, the same bytes: a server process of the real pages, and one of Django with nothing but a constant view, are
asked in turns over connections that are kept open. nginx joins in where it is installed.
"""

from __future__ import annotations

import gzip
import tempfile
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from bench import calendar_servers as servers
from bench.database import fresh
from bench.icalendar_build import built
from bench.keep_alive import Asked, rate
from bench.timing import medians

if TYPE_CHECKING:
    from calendars.ics import Entry

EVENTS = 1000
SECONDS, TURNS = 0.5, 9  # of asking in one go, and goes of each way; project default (judgement)
GOAL_WRITING, GOAL_OF_CONSTANT = 20.0, 0.70


def measure() -> bool:
    """Print events and requests a second of each way; return whether the goals are reached and all said the same."""
    written = writing(entries(EVENTS))
    with fresh():
        secret, octets = servers.published()
        same, rates = serving(secret, octets, SECONDS, TURNS)
    told(rates)
    print(
        f"  of the constant view's rate: 200 {100 * rates['200 gzip'] / rates['constant 200']:.0f} %, "
        f"304 {100 * rates['304'] / rates['constant 304']:.0f} % (goal {100 * GOAL_OF_CONSTANT:.0f} %)"
    )
    share = min(rates["200 gzip"] / rates["constant 200"], rates["304"] / rates["constant 304"])
    return same and written >= GOAL_WRITING and share >= GOAL_OF_CONSTANT


def entries(many: int) -> list[Entry]:
    """Return entries like a farm's: steps and rounds with a checklist, in turns."""
    from calendars.ics import Entry

    stamp, day = datetime(2031, 1, 1, 9, tzinfo=UTC), date(2031, 1, 1)
    lines = "\n".join(f"[ ] Brooder {n}: feed, water and look, {n + 3} min (Küken)" for n in range(6))
    found = []
    for n in range(many):
        on = day + timedelta(days=n // 4)
        common: dict[str, Any] = {
            "stamp": stamp, "url": f"https://hens.example/?day={on}", "sequence": n % 3, "location": f"Brooder {n % 5}",
        }  # fmt: skip
        if n % 4 == 0:
            why = (
                "Why: they are warm enough without.\nAge: day 14. Check: bedding, behaviour; not heat alone."
            )
            found.append(
                Entry(f"step:batch:{n}/heat@farm", on, on + timedelta(days=1), "Brooder 2: 32 → 29 °C", description=why,
                      categories=("Step",), color="sienna", **common)
            )  # fmt: skip
        else:
            start = datetime(on.year, on.month, on.day, 5 + 5 * (n % 4 - 1), tzinfo=UTC)
            found.append(
                Entry(f"round:{on}/{n % 4}@farm", start, start + timedelta(minutes=25), "Morning round · 6 chores",
                      zone="Europe/Berlin", description=lines, categories=("Round",), color="gold", **common)
            )  # fmt: skip
    return found


def writing(found: Sequence[Entry]) -> float:
    """Print events a second written again, for the first time, and by icalendar; return how many times as quick the
    first time is.
    """
    from calendars.ics import event, render

    def again() -> bytes:
        return b"".join(map(render, found))

    def anew() -> bytes:
        render.cache_clear()
        event._steady.cache_clear()
        event._stamped.cache_clear()
        return again()

    def by_icalendar() -> bytes:
        return b"".join(map(built, found))

    assert again() == anew() == by_icalendar()
    first, plain = medians(anew, by_icalendar)
    kept, _plain = medians(again, anew)
    many = len(found)
    print(f"  {many} events, {len(again())} octets, the same from each way:")
    print(f"  written by icalendar    {many / plain:9.0f} events/s")
    print(
        f"  written for the first time {many / first:6.0f} events/s, {plain / first:6.1f} times "
        f"(goal {GOAL_WRITING:.0f})"
    )
    print(f"  written before             {many / kept:6.0f} events/s, {plain / kept:6.1f} times")
    return plain / first


def serving(secret: str, octets: bytes, seconds: float, turns: int) -> tuple[bool, dict[str, float]]:
    """Return whether all servers sent the same bytes, and the median requests a second of each way."""
    zipped = gzip.compress(octets, 9, mtime=0)
    with tempfile.TemporaryDirectory() as folder:
        constant = Path(folder) / "constant.ics.gz"
        constant.write_bytes(zipped)
        with servers.real() as ours, servers.constant(constant) as plain, servers.nginx(constant) as static:
            path, gz = f"/c/{secret}.ics", {"Accept-Encoding": "gzip"}
            tag = Asked(ours, path, gz).once().tag
            ways = {
                "200 gzip": Asked(ours, path, gz),
                "304": Asked(ours, path, gz | {"If-None-Match": tag}),
                "constant 200": Asked(plain, "/constant", gz),
                "constant 304": Asked(plain, "/constant", gz | {"If-None-Match": '"constant"'}),
                "built per request": Asked(ours, f"/built/{secret}", gz),
            }
            if static:
                ways["nginx 200"] = Asked(static, "/constant.ics", gz)
            answers = {name: asked.once() for name, asked in ways.items()}
            bodies = {gzip.decompress(answer.body) for answer in answers.values() if answer.status == 200}
            same = bodies == {octets} and answers["304"].status == answers["constant 304"].status == 304
            print(
                f"  a calendar of {len(octets)} octets, {len(zipped)} compressed, "
                f"{'the same' if same else 'NOT THE SAME'} from all"
            )
            found: dict[str, list[float]] = {name: [] for name in ways}
            for _turn in range(turns):  # in turns, so that a busy machine slows all alike
                for name, asked in ways.items():
                    found[name].append(rate(asked, seconds))
    return same, {name: median(rates) for name, rates in found.items()}


def told(rates: dict[str, float]) -> None:
    """Print the table of rates."""
    for name, many in rates.items():
        print(f"  {name:<18} {many:8.1f} requests/s")
    quick = rates["200 gzip"]
    print(f"  200 gzip beside building per request: {quick / rates['built per request']:.0f} times")
    if "nginx 200" in rates:
        print(f"  200 gzip beside nginx: {100 * quick / rates['nginx 200']:.1f} % of its rate")
    else:
        print("  nginx: not measured, it is not installed")
