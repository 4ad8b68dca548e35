"""Which entries changed since they were last published, and what to say of those that are gone.

Some readers skip an event whose LAST-MODIFIED did not rise, others notify of every one that did. So each entry carries
the instant its visible content last changed, and nothing else moves it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

from django.utils.translation import gettext as _

from calendars.ics import Entry, Status
from calendars.models import EntryVersion
from farm.planning.window import Window

CANCELLED_DAYS = 14


@dataclass(slots=True)
class Settled:
    """The entries to publish, each with its stamp and sequence, and the version rows to write for that."""

    entries: list[Entry] = field(default_factory=list)
    new: list[EntryVersion] = field(default_factory=list)
    changed: list[EntryVersion] = field(default_factory=list)


def settle(entries: Sequence[Entry], known: Mapping[str, EntryVersion], window: Window, now: datetime) -> Settled:
    """Compare entries with the versions last published, by UID.

    An entry that vanished inside the window is published as cancelled for CANCELLED_DAYS, then no more. Settling the
    same entries again, at any later instant, writes nothing and returns the same stamps.
    """
    now, settled = now.astimezone(UTC).replace(microsecond=0), Settled()
    for entry in entries:
        settled.entries.append(_settled(entry, known.get(entry.uid), settled, now))
    gone = known.keys() - {entry.uid for entry in entries}
    for uid in sorted(gone):
        version = known[uid]
        if not window.start <= version.day < window.end:
            continue
        if version.cancelled_at is None:
            settled.entries.append(_settled(_cancelled(version, now), version, settled, now))
        elif now < version.cancelled_at + timedelta(days=CANCELLED_DAYS):
            settled.entries.append(_cancelled(version, version.changed_at).at(version.changed_at, version.sequence))
    return settled


def _settled(entry: Entry, version: EntryVersion | None, settled: Settled, now: datetime) -> Entry:
    digest = entry.digest()
    if version is None:
        version = EntryVersion(uid=entry.uid, changed_at=now, sequence=0)
        settled.new.append(version)
    elif version.digest != digest:
        # Whole seconds are all an iCalendar stamp can say; two changes within one still have to differ.
        version.changed_at = max(now, version.changed_at + timedelta(seconds=1))
        version.sequence += version.timing != entry.timing()
        settled.changed.append(version)
    else:
        return entry.at(version.changed_at, version.sequence)
    version.digest, version.timing, version.day = digest, entry.timing(), entry.day
    version.outline = _outline(entry)
    version.cancelled_at = version.changed_at if entry.status is Status.CANCELLED else None
    return entry.at(version.changed_at, version.sequence)


def _outline(entry: Entry) -> dict[str, str]:
    """Return what is kept of an entry, to cancel it by when its source is gone."""
    return {
        "start": entry.start.isoformat(),
        "end": entry.end.isoformat(),
        "zone": entry.zone,
        "summary": entry.summary,
        "color": entry.color,
        "location": entry.location,
    }


def _cancelled(version: EntryVersion, stamp: datetime) -> Entry:
    kept = version.outline
    timed = bool(kept["zone"])
    prefix = "" if version.cancelled_at else _("Cancelled: ")
    return Entry(
        uid=version.uid,
        start=_instant(kept["start"]) if timed else date.fromisoformat(kept["start"]),
        end=_instant(kept["end"]) if timed else date.fromisoformat(kept["end"]),
        zone=kept["zone"],
        summary=prefix + kept["summary"].removeprefix("✓ "),
        stamp=stamp,
        description=_("No longer planned. This note goes by itself after %d days.") % CANCELLED_DAYS,
        location=kept["location"],
        color=kept["color"],
        status=Status.CANCELLED,
    )


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)
