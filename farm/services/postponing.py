"""Putting an occurrence off to another day or round, and bringing it back. It stays the same occurrence."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput
from farm.models import Farm, Postponement
from farm.models.chore_mark import Round
from farm.planning.agenda import Item
from farm.queries import agenda
from farm.services import chores
from farm.services.actor import Actor
from farm.services.writing import write

MOST_DAYS = 14  # how long a chore may be put off; project default (judgement)


def put_off(
    by: Actor, *, source: str, due: date, round: str, to_due: date, to_round: str, reason: str = ""
) -> Postponement:
    """Put one open occurrence off; a second time moves it from where it is now.

    source, due, round: its identity, which does not change. What birds need the same day can only go to a later round
    of that day. Raises BadInput by field, NotAllowed.
    """
    with write(by, "put off", role=chores.least_role(source, by.farm_id)) as log:
        item = _open(log.farm, source, due, round, by.today)
        _check(item, to_due, to_round, by.today)
        row = Postponement.objects.filter(farm=log.farm, source=source, due=due, round=round).first()
        values = {"to_due": to_due, "to_round": to_round, "reason": reason.strip(), "member": by.member}
        if row is None:
            row = Postponement(farm=log.farm, source=source, due=due, round=round, **values)
            log.add(row)
        else:
            log.change(row, **values)
        said = {
            "title": wording.say(item.title, log.farm.units),
            "day": wording.day(to_due),
            "round": Round(to_round).label,
        }
        log.says(row, _("%(title)s: put off to %(day)s, %(round)s") % said)
    return row


def bring_back(by: Actor, *, source: str, due: date, round: str) -> None:
    """Take a postponement back. Nothing happens when there is none."""
    with write(by, "bring back", role=chores.least_role(source, by.farm_id)) as log:
        row = Postponement.objects.filter(farm=log.farm, source=source, due=due, round=round).first()
        if row is not None:
            found = agenda.find(log.farm, source, due, round, by.today)
            said = {
                "title": _("A chore") if found is None else wording.say(found.item.title, log.farm.units),
                "day": wording.day(due),
                "round": Round(row.round).label,
            }
            log.says(None, _("%(title)s: back on %(day)s, %(round)s") % said)
            log.remove(row)


def latest_day(item: Item, today: date) -> date:
    """Return the last day an occurrence may be put off to; before today, it can't be any more.

    It counts from the day it was first due; what stays on the list until it is done may wait from today on.
    """
    first = item.occurrence[1]
    if item.care:
        return first
    if item.open_ended:
        return max(first, today) + timedelta(days=MOST_DAYS)
    last = first + timedelta(days=MOST_DAYS)
    return last if item.until is None else min(last, item.until - timedelta(days=1))


def later_rounds(item: Item, day: date) -> list[Round]:
    """Return the rounds of `day` that come after the one an occurrence is due in now."""
    order = Round.values
    return [one for one in Round if (day, order.index(one)) > (item.due, order.index(item.round))]


def _open(farm: Farm, source: str, due: date, round: str, today: date) -> Item:
    found = agenda.find(farm, source, due, round, today)
    if found is None:
        raise BadInput.at("", _("This chore is not known. Open the page again."))
    if not found.open:
        raise BadInput.at("", _("This is ticked already."))
    return found.item


def _check(item: Item, to_due: date, to_round: str, today: date) -> None:
    if to_round not in Round.values:
        raise BadInput.at("to_round", _("Choose a round."))
    if to_due < today:
        raise BadInput.at("to_due", _("This day is over."))
    if to_round not in later_rounds(item, to_due):
        raise BadInput.at("to_due", _("Choose a later day or round."))
    last = latest_day(item, today)
    if to_due > last and item.care:
        text = _("Birds depend on this the same day: it can only go to a later round of that day.")
        raise BadInput.at("to_due", text)
    if to_due > last:
        raise BadInput.at("to_due", _("It can wait until %(day)s at most.") % {"day": wording.day(last)})
