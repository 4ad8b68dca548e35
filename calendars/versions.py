"""Which entries changed since they were last published, and what to say of those that are gone.

Some readers skip an event whose LAST-MODIFIED did not rise, others notify of every one that did. So each
entry carries the instant its visible content last changed, and nothing else moves it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from calendars.ics import Entry, Status
from calendars.models import EntryVersion
from calendars.rounds import DONE
from farm.planning.window import Window

CANCELLED_DAYS = 14


@dataclass(slots=True)
class Settled:
    """The entries to publish, each with its stamp and sequence, and the version rows to write for that."""

    entries: list[Entry] = field(default_factory=list)
    new: list[EntryVersion] = field(default_factory=list)
    changed: list[EntryVersion] = field(default_factory=list)


def settle(
    entries: Sequence[Entry],
    known: Mapping[str, EntryVersion],
    window: Window,
    today: date,
    now: datetime,
    *,
    planned: Set[str] = frozenset(),
    zone: str = "",
) -> Settled:
    """Compare entries with the versions last published, by UID.

    What vanished from today or later is published as cancelled for CANCELLED_DAYS, then no more. What was
    done stays as it was; what is past and was not done goes without a word. Settling the same entries again
    on the same day, at any later instant, writes nothing and returns the same stamps.

    planned: UIDs of all that is still planned, whoever does it: what goes from this reader but not from there
    was given to somebody else. zone: in which the window's days are counted; each entry's own without one.
    """
    now, settled = now.astimezone(UTC).replace(microsecond=0), Settled()
    for entry in entries:
        settled.entries.append(_settled(entry, known.get(entry.uid), settled, now, zone))
    gone = known.keys() - {entry.uid for entry in entries}
    for uid in sorted(gone):
        version = known[uid]
        if not window.start <= version.day < window.end:
            continue
        if version.cancelled_at is not None:
            if now < version.cancelled_at + timedelta(days=CANCELLED_DAYS):
                settled.entries.append(_again(version))
        elif version.outline["summary"].startswith(DONE):
            settled.entries.append(_again(version))
        elif version.day >= today:
            gone_entry = _cancelled(version, uid in planned)
            settled.entries.append(_settled(gone_entry, version, settled, now, zone))
    return settled


def _settled(entry: Entry, version: EntryVersion | None, settled: Settled, now: datetime, zone: str) -> Entry:
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
    version.digest, version.timing = digest, entry.timing()
    version.day = entry.day_in(zone or entry.zone)
    version.outline = _outline(entry)
    version.cancelled_at = version.changed_at if entry.status is Status.CANCELLED else None
    return entry.at(version.changed_at, version.sequence)


def _outline(entry: Entry) -> dict[str, Any]:
    """Return what is kept of an entry for when its source is gone: little, but all of what was done or
    cancelled.
    """
    kept = {"start": entry.start.isoformat(), "end": entry.end.isoformat()}
    names = ["zone", "summary", "location", "color"]
    if entry.summary.startswith(DONE) or entry.status is Status.CANCELLED:
        names += ["description", "url", "categories", "status"]
    return kept | {name: value for name in names if (value := getattr(entry, name))}


def _again(version: EntryVersion) -> Entry:
    """Return the entry as it was last published."""
    kept = dict(version.outline)
    read = _instant if kept.get("zone") else date.fromisoformat
    kept |= {"start": read(kept["start"]), "end": read(kept["end"])}
    kept |= {"categories": tuple(kept.get("categories", ()))}
    return Entry(uid=version.uid, stamp=version.changed_at, sequence=version.sequence, **kept)


def _cancelled(version: EntryVersion, given_away: bool) -> Entry:
    entry = _again(version)
    if given_away:
        summary, why = _("Not yours any more: %s"), _("Somebody else does this now.")
    else:
        summary, why = _("Cancelled: %s"), _("No longer planned.")
    goes = _("This note goes by itself after %d days.") % CANCELLED_DAYS
    return replace(
        entry, summary=summary % entry.summary, description=f"{why} {goes}", status=Status.CANCELLED
    )


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)
