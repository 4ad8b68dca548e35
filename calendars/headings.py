"""What a calendar is called in apps, and what it says of itself: what it holds and what it leaves out."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.translation import gettext as _

from calendars.choices import Scope
from calendars.editions import Edition
from calendars.ics import Fitted
from farm import wording
from farm.models.member import Role


def name(edition: Edition, thing: str = "") -> str:
    """Return what apps list the calendar under. thing: name of the housing or batch it is about."""
    if edition.member is not None:
        return f"{edition.farm.name}: {edition.member.name}"
    names = {
        Scope.HOUSING: thing or _("housing that is gone"),
        Scope.BATCH: thing or _("batch that is gone"),
        Scope.ORDERS: _("orders and hatches"),
        Scope.OUTLOOK: _("outlook"),
    }
    return ": ".join(filter(None, (edition.farm.name, names.get(Scope(edition.scope), ""))))


def description(edition: Edition, fitted: Fitted, given_until: date | None, thing: str = "") -> str:
    """Return what the calendar holds and leaves out, so that nobody takes a gap for a day off."""
    said = [_holds(edition, given_until, thing)]
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


def _holds(edition: Edition, given_until: date | None, thing: str) -> str:
    member = edition.member
    if member is None:
        return _held(edition, thing)
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


def _held(edition: Edition, thing: str) -> str:
    """Return what a calendar that is nobody's own holds."""
    if edition.scope in (Scope.HOUSING, Scope.BATCH):
        if not thing:
            return _("What this calendar was about is no longer on the farm. Remove it from your app.")
        return _("Steps and rounds of %(thing)s.") % {"thing": thing}
    if edition.scope == Scope.ORDERS:
        return _("Eggs, hatches and birds to hand over.")
    if edition.scope == Scope.OUTLOOK:
        return _("Moves, hatches and birds to hand over; no daily work.")
    return _("Steps and rounds of the whole farm.")
