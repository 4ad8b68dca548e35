"""A member's chores and steps as to-dos."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils.translation import gettext as _

from calendars import publish, wordings
from calendars.dav.todo import Todo, sayable
from farm import wording
from farm.models import Farm, Member
from farm.models.chore_mark import MarkState, Round
from farm.models.member import Role
from farm.models.own_chore import Asks, Who
from farm.planning.agenda import Item
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import rounds
from farm.queries.rounds import Share
from farm.services import chores

log = logging.getLogger(__name__)

PAST_DAYS = 7
AHEAD_DAYS = 14
LATE_AFTER = timedelta(hours=2)  # when a chore of a round counts as late; project default (judgement)
_OWN = "own:"  # how the agenda begins the source of a keeper's own chore


@dataclass(frozen=True, slots=True)
class Held:
    """One to-do of a list, and the occurrence it stands for."""

    occurrence: Key
    todo: Todo


def of_member(member: Member, today: date) -> Mapping[str, Held]:
    """Return what a member's list holds by name: PAST_DAYS back to AHEAD_DAYS ahead, today included.

    What can't be said is left out and logged: it must not take the list down.
    """
    window = Window(today - timedelta(days=PAST_DAYS), PAST_DAYS + AHEAD_DAYS + 1)
    found: dict[str, Held] = {}
    for share in rounds.of_member(member, window, today):
        item = share.due.item
        if not may_tick(member, item):
            continue
        try:
            held = Held(item.occurrence, _todo(share, member))
        except (ValueError, KeyError, TypeError, OverflowError):
            log.exception("%s could not be written and was left out of a task list", item.source)
            continue
        found.setdefault(name_of(item.occurrence), held)
    return found


def may_tick(member: Member, item: Item) -> bool:
    """Say whether a member may tick an item: a child only what a child may do."""
    if member.role != Role.CHILD:
        return True
    if item.source.startswith(_OWN):
        return item.who == Who.CHILD
    return chores.least_role(item.source, member.farm_id) == Role.CHILD


def name_of(occurrence: Key) -> str:
    """Return the file name of an occurrence's to-do, without its ending: stable, and safe in an address."""
    source, due, round = occurrence
    return hashlib.sha256(f"{source}\n{due.isoformat()}\n{round}".encode()).hexdigest()[:32]


def _todo(share: Share, member: Member) -> Todo:
    item, mark, farm = share.due.item, share.due.mark, member.farm
    start, due, zone = _times(item, farm)
    return Todo(
        uid=f"todo:{name_of(item.occurrence)}/m{member.pk}@{publish.identity(farm)}",
        summary=wording.say(item.title, farm.units),
        due=due,
        start=start,
        zone=zone,
        description=_body(share, farm),
        location=item.room_name,
        url=f"{settings.ADDRESS}/?day={item.due.isoformat()}",
        category=_("Step") if item.kind == "step" else str(Round(item.round).label).capitalize(),
        done_at=None if mark is None else mark.at,
        skipped=mark is not None and mark.state == MarkState.SKIPPED,
    )


def _times(item: Item, farm: Farm) -> tuple[date | None, date, str]:
    """Return start, due and zone. A step is due on the last day of its window; a chore in its round."""
    if item.kind == "step":
        last = item.until - timedelta(days=1) if item.until else item.due
        # RFC 5545 §3.8.2.3: what is due must come after what starts.
        return (item.due if last > item.due else None), max(last, item.due), ""
    at = {"morning": farm.morning_at, "midday": farm.midday_at, "evening": farm.evening_at}[item.round]
    # A time the clocks skip is read with the offset before the change, one they repeat as the first.
    start = datetime.combine(item.due, at, tzinfo=ZoneInfo(farm.time_zone)).astimezone(UTC)
    due = start + LATE_AFTER
    return start, due, sayable(farm.time_zone, start, due)


def _body(share: Share, farm: Farm) -> str:
    item = share.due.item
    lines = [wordings.step_body(item, farm.units, ", ".join(share.others))]
    if item.asks == Asks.NOTE:
        lines.insert(0, _("This asks for a note: tick it on its page."))
    elif item.asks == Asks.PHOTO:
        lines.insert(0, _("This asks for a picture: tick it on its page."))
    return "\n\n".join(lines)
