"""A calendar read within a time limit, by a process of its own (`program`)."""

from __future__ import annotations

import json
import subprocess

from calendars.incoming import bounds, records
from calendars.incoming.records import Asked, Reading, Unreadable
from farm.services import apart

#: To read a calendar, seconds; the largest we take needs a few. Project default (judgement).
MOST_SECONDS = 15.0
_PROGRAM = "calendars.incoming.program"


def read(octets: bytes, asked: Asked, *, seconds: float = MOST_SECONDS) -> Reading:
    """Return what a calendar says for the days asked about, within `seconds`. Raises Unreadable."""
    bounds.check(octets)
    head = json.dumps(records.to_json(asked) | {"seconds": seconds}).encode()
    try:
        done = apart.run(_PROGRAM, head + b"\n" + octets, seconds)
        if done.returncode:
            raise Unreadable("many")
        values = json.loads(done.stdout)
        if "why" in values:
            raise Unreadable(values["why"])
        return records.reading_of(values)
    except subprocess.TimeoutExpired as error:
        raise Unreadable("many") from error
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise Unreadable("broken") from error
