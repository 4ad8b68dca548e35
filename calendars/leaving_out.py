"""One bad item is left out and logged: it must not take everybody's calendar down."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager

log = logging.getLogger(__name__)


@contextmanager
def left_out(what: str) -> Iterator[None]:
    """Leave out what cannot be written, and say so in the log."""
    try:
        yield
    except (ValueError, KeyError, TypeError, OverflowError):
        log.exception("%s could not be written and was left out of the calendars", what)
