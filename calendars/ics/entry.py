"""What one event of a calendar says, clean and consistent from the moment it exists."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

from calendars.ics.text import LINE_CAP, TEXT_CAP, clean

#: CSS3 colour names (RFC 7986 §5.9 allows names alone). Strict readers refuse a whole calendar for a hex
#: colour.
COLORS = frozenset(
    [
        "black",
        "darkgoldenrod",
        "darkorange",
        "forestgreen",
        "gold",
        "goldenrod",
        "gray",
        "khaki",
        "maroon",
        "olive",
        "peru",
        "saddlebrown",
        "sandybrown",
        "sienna",
        "silver",
        "steelblue",
        "tan",
        "teal",
        "tomato",
        "wheat",
    ]
)
_UID = re.compile(
    r"[!-+\--:<-\[\]-~]{1,255}"
)  # visible ASCII but for `,` `;` and `\`, which would need escaping
_URL = re.compile(
    r"https?://[!#-;=?-\[\]_a-z~]{1,1900}", re.IGNORECASE
)  # what RFC 3986 allows, and no quotes


class Status(StrEnum):
    """RFC 5545 §3.8.1.11, for events."""

    CONFIRMED = "CONFIRMED"
    TENTATIVE = "TENTATIVE"
    CANCELLED = "CANCELLED"


@dataclass(frozen=True, slots=True)
class Entry:
    """One event.

    uid: from stable keys; visible ASCII. start, end: half-open; both `date` for an all-day entry, or both
    instants in UTC for a timed one, written in the IANA zone `zone`. stamp: the instant (UTC) at which the
    visible content last changed. sequence: rises when day, time or status change. transparent: does not make
    anyone busy. alarm_minutes: when its alarm goes off, from its start (before it below 0), None for no alarm.
    Texts are cleaned as they come in. Raises ValueError for what no calendar may hold.
    """

    uid: str
    start: date
    end: date
    summary: str
    stamp: datetime
    zone: str = ""
    description: str = ""
    location: str = ""
    url: str = ""
    categories: tuple[str, ...] = ()
    color: str = ""
    status: Status = Status.CONFIRMED
    sequence: int = 0
    transparent: bool = True
    alarm_minutes: int | None = None

    def __post_init__(self) -> None:
        """Clean the texts and refuse what cannot be right."""
        put = lambda name, value: object.__setattr__(self, name, value)  # noqa: E731 (frozen: the one way in)
        put("summary", clean(self.summary, LINE_CAP, lines=False))
        put("location", clean(self.location, LINE_CAP, lines=False))
        put("description", clean(self.description, TEXT_CAP))
        put("categories", tuple(filter(None, (clean(c, LINE_CAP, lines=False) for c in self.categories))))
        put("status", Status(self.status))
        if not _UID.fullmatch(self.uid):
            raise ValueError(f"uid must be 1 to 255 visible ASCII characters, not {self.uid!r}")
        if not self.summary:
            raise ValueError(f"{self.uid}: an event without a title shows as nothing")
        if self.color and self.color not in COLORS:
            raise ValueError(f"{self.uid}: colour must be one of the CSS names in COLORS, not {self.color!r}")
        if self.url and not _URL.fullmatch(self.url):
            raise ValueError(f"{self.uid}: not a web address: {self.url!r}")
        if self.sequence < 0:
            raise ValueError(f"{self.uid}: sequence must not be negative")
        if self.stamp.utcoffset() is None:
            raise ValueError(f"{self.uid}: stamp must be an aware instant")
        self._check_times()

    def _check_times(self) -> None:
        if isinstance(self.start, datetime) != isinstance(self.end, datetime):
            raise ValueError(f"{self.uid}: start and end must both be days or both be instants")
        if isinstance(self.start, datetime) and isinstance(self.end, datetime):
            if self.start.tzinfo is not UTC or self.end.tzinfo is not UTC:
                raise ValueError(f"{self.uid}: instants must be in UTC")
            ZoneInfo(self.zone)
        elif self.zone:
            raise ValueError(f"{self.uid}: a day has no zone")
        if self.end <= self.start:
            raise ValueError(f"{self.uid}: must end after it starts")

    @property
    def all_day(self) -> bool:
        """Say whether the entry covers whole days."""
        return not isinstance(self.start, datetime)

    @property
    def day(self) -> date:
        """Return the day on which the entry starts, in its own zone."""
        return self.day_in(self.zone)

    def day_in(self, zone: str) -> date:
        """Return the day on which the entry starts as people of `zone` count it."""
        if isinstance(self.start, datetime):
            return self.start.astimezone(ZoneInfo(zone)).date()
        return self.start

    def timing(self) -> str:
        """Return what a change of raises SEQUENCE: when it is, and whether it is on."""
        return f"{self.start.isoformat()}/{self.end.isoformat()}/{self.zone}/{self.status}"

    def digest(self) -> str:
        """Return the SHA-256 of everything visible: not of `stamp` and `sequence`, which follow from it."""
        seen = [self.uid, self.timing(), self.summary, self.description, self.location, self.url]
        seen += [*self.categories, self.color, str(self.transparent)]
        seen += [] if self.alarm_minutes is None else [f"alarm {self.alarm_minutes}"]
        return hashlib.sha256(json.dumps(seen, ensure_ascii=True).encode()).hexdigest()

    def at(self, stamp: datetime, sequence: int) -> Entry:
        """Return the same entry as of another content version."""
        return replace(self, stamp=stamp, sequence=sequence)
