"""The program that reads somebody's calendar, in a process of its own: no database, no variables of ours, and limits of
memory and time, whatever the calendar makes the libraries do.

On stdin one line of JSON, the question, then the calendar's bytes; on stdout the answer as JSON.
"""

from __future__ import annotations

import json
import logging
import math
import resource
import signal
import sys
from contextlib import suppress
from typing import Any

from calendars.incoming import records
from calendars.incoming.records import Unreadable

#: Of memory, bytes: several times what the largest calendar we take needs. Project default (judgement).
MOST_MEMORY = 768 * 1024 * 1024


def main() -> None:
    """Answer the question on stdin."""
    head, _line, octets = sys.stdin.buffer.read().partition(b"\n")
    values = json.loads(head)
    with suppress(ValueError, OSError):  # not every system can
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    signal.alarm(math.ceil(values["seconds"]) + 1)  # ends this process even when whoever started it is gone
    logging.disable(logging.CRITICAL)
    print(json.dumps(answer(octets, records.from_json(values))))


def answer(octets: bytes, asked: records.Asked) -> dict[str, Any]:
    """Return the reading of a calendar, or why there is none, as JSON values."""
    from calendars.incoming import expanding, judging

    try:
        found, skipped = expanding.occurrences(octets, asked)
    except Unreadable as error:
        return {"why": error.why}
    except (MemoryError, RecursionError):
        return {"why": "many"}
    return records.reading_json(judging.read(found, asked, skipped))


if __name__ == "__main__":
    main()
