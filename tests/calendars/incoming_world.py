"""Calendars of others for tests: their text, the question put to them, and an https server that has one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, time, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from calendars.incoming import asking, program, records, refreshing
from calendars.incoming.records import Asked, Reading, Rules, Unreadable
from farm.services.channels import fetching
from tests.conftest import TODAY
from tests.farm.channels_world import HOST, Stub, always, web_server

DAY = timedelta(days=1)
BERLIN = ZoneInfo("Europe/Berlin")
SEVEN_TWELVE_SIX = (time(7), time(12), time(18))


def calendar(*entries: str, head: str = "") -> bytes:
    """A calendar of entries, each the lines of a VEVENT; "\n" for the ends of lines."""
    events = "".join(f"BEGIN:VEVENT\n{entry.strip()}\nEND:VEVENT\n" for entry in entries)
    text = f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//Elsewhere//EN\n{head}{events}END:VCALENDAR\n"
    return text.replace("\n", "\r\n").encode()


def whole(uid: str, first: date, last: date | None = None, title: str = "Trip", more: str = "") -> str:
    """An entry of whole days, the last one included."""
    end = (last or first) + DAY
    return f"UID:{uid}\nSUMMARY:{title}\nDTSTART;VALUE=DATE:{first:%Y%m%d}\nDTEND;VALUE=DATE:{end:%Y%m%d}\n{more}"


def asked(
    first: date = TODAY, days: int = 189, zone: ZoneInfo = BERLIN, rounds=SEVEN_TWELVE_SIX, **rules
) -> Asked:
    return Asked(first, first + days * DAY, zone, (tuple(rounds),) * 7, Rules(**rules))


def answered(octets: bytes, question: Asked | None = None) -> Reading:
    """Read in this process: quicker, and the same code."""
    values = program.answer(octets, question or asked())
    if "why" in values:
        raise Unreadable(values["why"])
    return records.reading_of(values)


def said(reading: Reading) -> list[str]:
    """The days away, from the first to the last included: "05-04..05-06"."""
    return [f"{start:%m-%d}..{end - DAY:%m-%d}" for start, end in reading.spans]


@contextmanager
def served(monkeypatch, pem, trust, octets: bytes, **headers: str) -> Iterator[Stub]:
    """An https server that has a calendar, which counts as public here, and reading without a process of its own."""
    here = partial(fetching.fetch, look_up=lambda host, port: ["127.0.0.1"], context=trust)
    monkeypatch.setattr(asking.fetching, "fetch", here)
    monkeypatch.setattr(asking, "LIMITS", replace(asking.LIMITS, private=True, seconds=3.0))
    monkeypatch.setattr(refreshing.reading, "read", answered)
    with web_server(always(200, octets, **headers), pem) as stub:
        yield stub


def address(stub: Stub, path: str = "/secret.ics") -> str:
    return f"https://{HOST}:{stub.port}{path}"
