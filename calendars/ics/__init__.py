"""Entries to bytes: the pure half of the calendars. Knows RFC 5545, icalendar and nothing of birds, Django or
the clock.

Entry        what one event says                      entry.py
render       one Entry to a folded VEVENT, once       event.py
vtimezone    an IANA zone to a compact VTIMEZONE      zone.py
fit          what goes in under the size caps         calendar.py
assemble     About, zones and events to one body      calendar.py
clean        the only way text gets in                text.py
"""

from calendars.ics.calendar import COPIED, PUBLISHED, About, Body, Fitted, Limits, Rendered, assemble, fit
from calendars.ics.entry import COLORS, Entry, Status
from calendars.ics.event import render
from calendars.ics.text import clean
from calendars.ics.zone import vtimezone

__all__ = [
    "COLORS",
    "COPIED",
    "PUBLISHED",
    "About",
    "Body",
    "Entry",
    "Fitted",
    "Limits",
    "Rendered",
    "Status",
    "assemble",
    "clean",
    "fit",
    "render",
    "vtimezone",
]
