"""An edition's entries to a finished body: heading, zone, and as many events as readers take."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import override

from calendars import ics
from calendars.editions import NOTICE_DAYS, Edition
from calendars.entries import Reader
from calendars.ics import About, Body, Entry, Fitted, Rendered
from calendars.whose import Whose
from farm import wording
from farm.models import Farm
from farm.models.member import Role

log = logging.getLogger(__name__)

COLOR = "goldenrod"


def reader(edition: Edition, site: str, whose: Whose) -> Reader:
    """Return what the entries of an edition depend on besides the agenda."""
    farm = edition.farm
    return Reader(
        name=edition.reader,
        zone=farm.time_zone,
        system=farm.units,
        round_times={"morning": farm.morning_at, "midday": farm.midday_at, "evening": farm.evening_at},
        site=site,
        identity=identity(farm),
        shows=whose.shows,
        doers=whose.doers,
    )


def identity(farm: Farm) -> str:
    """Return the right side of a farm's UIDs: the farm itself, not the server it happens to run on.

    The server's name changes (an address in a home network, a move to another machine) and every event would
    be doubled; the farm's number and the instant it was made do not, and no two servers share them.
    """
    made = int(farm.created_at.timestamp() * 1_000_000)
    return f"farm-{farm.pk}-{made:x}.featherdays"


def body(edition: Edition, entries: Sequence[Entry], today: date, given_until: date | None = None) -> Body:
    """Return the calendar of an edition in its language. What cannot be written is left out and logged.

    given_until: the first day that no rota reaches; None without one.
    """
    with override(edition.language):
        zone = ics.vtimezone(edition.farm.time_zone, today.year - 1)
        fitted = ics.fit(_rendered(entries), today, zones=[zone])
        about = About(_name(edition), _description(edition, fitted, given_until), COLOR)
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
        zone = ics.vtimezone(edition.farm.time_zone, day.year - 1)
        return ics.assemble(About(_("Calendar switched off"), said, "gray"), [zone], _rendered([notice]))


def _rendered(entries: Iterable[Entry]) -> list[Rendered]:
    found: dict[str, Rendered] = {}
    for entry in entries:
        try:
            found.setdefault(entry.uid, Rendered(entry.day, entry.uid, ics.render(entry)))
        except (ValueError, TypeError, OverflowError):
            log.exception("calendar entry %s could not be written and was left out", entry.uid)
    return list(found.values())


def _name(edition: Edition) -> str:
    if edition.member is None:
        return edition.farm.name
    return f"{edition.farm.name}: {edition.member.name}"


def _description(edition: Edition, fitted: Fitted, given_until: date | None) -> str:
    """Return what the calendar holds and leaves out, so that nobody takes a gap for a day off."""
    said = [_holds(edition, given_until)]
    if fitted.cut and fitted.days:
        first, last = map(wording.day, fitted.days)
        values = {
            "kept": len(fitted.kept),
            "all": len(fitted.kept) + fitted.cut,
            "first": first,
            "last": last,
        }
        said.append(
            _(
                "Shortened to what calendar apps accept: %(kept)d of %(all)d entries, from %(first)s to %(last)s."
                " All are on the pages."
            )
            % values
        )
    elif not fitted.kept:
        said.append(_("Nothing is due in the coming months."))
    return " ".join(said)


def _holds(edition: Edition, given_until: date | None) -> str:
    member = edition.member
    if member is None:
        return _("Steps and rounds of the whole farm.")
    if given_until is not None:
        return _(
            "Your rounds and steps. Rounds are given out until %(day)s; later ones come as they are given out."
        ) % {"day": wording.day(given_until - timedelta(days=1))}
    if member.role == Role.CHILD:
        return _("Steps and rounds a child may help with beside an adult, until a rota says who does which.")
    said = _("Steps and rounds you may do, until a rota says who does which.")
    if member.adult:
        return said
    left_out = _(
        "Work for adults only (heat, disinfectant, medicine, slaughter) is left out; the calendar of the whole farm"
        " holds it."
    )
    return f"{said} {left_out}"
