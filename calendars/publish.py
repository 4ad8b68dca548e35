"""An edition's entries to a finished body: heading, zone, and as many events as readers take."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import override

from calendars import headings, ics
from calendars.editions import NOTICE_DAYS, Edition
from calendars.ics import About, Body, Entry, Limits, Rendered
from calendars.reader import Reader
from calendars.whose import Whose
from farm.models import Farm

log = logging.getLogger(__name__)

COLOR = "goldenrod"


def reader(
    edition: Edition,
    site: str,
    whose: Whose,
    *,
    orders: Mapping[str, int] | None = None,
    feathered: Mapping[str, float] | None = None,
) -> Reader:
    """Return what the entries of an edition depend on besides the agenda."""
    farm, options = edition.farm, edition.options
    return Reader(
        name=edition.reader,
        zone=farm.time_zone,
        written_in=edition.written_in,
        system=farm.units,
        round_times={"morning": farm.morning_at, "midday": farm.midday_at, "evening": farm.evening_at},
        site=site,
        identity=identity(farm),
        shows=whose.shows,
        doers=whose.doers,
        scope=edition.scope,
        rounds=options.rounds,
        alarm_minutes=options.alarm_minutes,
        orders=orders or {},
        feathered=feathered or {},
    )


def identity(farm: Farm) -> str:
    """Return the right side of a farm's UIDs: the farm itself, not the server it happens to run on.

    The server's name changes (an address in a home network, a move to another machine) and every event would
    be doubled; the farm's number and the instant it was made do not, and no two servers share them.
    """
    made = int(farm.created_at.timestamp() * 1_000_000)
    return f"farm-{farm.pk}-{made:x}.featherdays"


def body(
    edition: Edition,
    entries: Sequence[Entry],
    today: date,
    given_until: date | None = None,
    thing: str = "",
    limits: Limits = ics.PUBLISHED,
) -> Body:
    """Return the calendar of an edition in its language. What cannot be written is left out and logged.

    given_until: the first day that no rota reaches; None without one. thing: name of the housing or batch it is about.
    limits: what it may hold at most.
    """
    with override(edition.language):
        first = edition.window(today).start
        zone = ics.vtimezone(edition.written_in, min(first, today).year - 1)
        fitted = ics.fit(_rendered(entries), today, zones=[zone], limits=limits)
        said = headings.description(edition, fitted, given_until, thing)
        about = About(headings.name(edition, thing), said, COLOR)
        return ics.assemble(about, [zone], fitted.kept)


def switched_off(edition: Edition, ended: datetime) -> Body:
    """Return the calendar of a link that is off: one notice, over the days it is still answered."""
    day = ended.astimezone(edition.zone).date()
    with override(edition.language):
        said = _(
            "This calendar link was switched off. Remove the calendar from your app, or ask for a new link."
        )
        notice = Entry(
            uid=f"off:{edition.reader}@{identity(edition.farm)}",
            start=day,
            end=day + timedelta(days=NOTICE_DAYS),
            summary=_("Calendar switched off"),
            description=said,
            stamp=ended.astimezone(UTC),
        )
        zone = ics.vtimezone(edition.written_in, day.year - 1)
        return ics.assemble(About(_("Calendar switched off"), said, "gray"), [zone], _rendered([notice]))


def _rendered(entries: Iterable[Entry]) -> list[Rendered]:
    found: dict[str, Rendered] = {}
    for entry in entries:
        try:
            found.setdefault(entry.uid, Rendered(entry.day, entry.uid, ics.render(entry)))
        except (ValueError, TypeError, OverflowError):
            log.exception("calendar entry %s could not be written and was left out", entry.uid)
    return list(found.values())
