"""Once a week the week ahead: a member's rounds by day, what else happens, and for keepers what nobody has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from django.utils.translation import gettext as _

from farm import wording
from farm.models import Farm
from farm.models.member import ROUND_NAMES
from farm.models.notice import NoticeKind
from farm.queries.reminders import Reader, Task, Work
from farm.services.reminders import texts
from farm.services.reminders.making import Letter
from farm.services.reminders.moments import Moment

DAYS = 7
#: Steps of the chore table that a household plans its week around.
EVENTS = frozenset(
    {"move", "set_eggs", "lockdown", "hatch", "hatch_out", "arrival", "catch", "process", "hand_over"}
)


def letters(farm: Farm, work: Work, now_due: Sequence[Moment]) -> list[Letter]:
    """Return the weeks ahead that are due; none for a week in which there is nothing to say."""
    found = []
    for moment in now_due:
        assert moment.to is not None, "a week is told to somebody"
        with texts.in_words_of(moment.to.member):
            body = _body(farm, work, moment.to, moment.day)
            subject = _("Your week from %(day)s") % {"day": texts.weekday_day(moment.day)}
        if body:
            found.append(
                Letter(
                    to=moment.to,
                    kind=NoticeKind.OUTLOOK,
                    key=f"week/{moment.day.isoformat()}",
                    subject=subject,
                    body=body,
                    url=texts.my_page(),
                    due_at=moment.at,
                    expires_at=moment.until,
                )
            )
    return found


def _body(farm: Farm, work: Work, to: Reader, first: date) -> str:
    week = [first + timedelta(days=n) for n in range(DAYS)]
    rounds = [line for day in week if (line := _rounds(work, to, day))]
    parts = [
        (_("Your rounds:"), rounds),
        (_("On the farm:"), list(_events(farm, work, week))),
        (_("Nobody has these yet:"), list(_nobodys(work, week)) if to.is_keeper else []),
    ]
    return "\n\n".join("\n".join([title, *lines]) for title, lines in parts if lines)


def _rounds(work: Work, to: Reader, day: date) -> str:
    """Return "Sat 2 May: morning 25 minutes, evening 30 minutes", or "" for a free day."""
    if to.is_away(day):
        return ""
    said = []
    for name in ROUND_NAMES:
        tasks = [task for task in work.of(to.member, day, name) if not task.nobody]
        if tasks:
            said.append(_part(name, tasks))
    return _("%(day)s: %(what)s") % {"day": texts.weekday_day(day), "what": ", ".join(said)} if said else ""


def _part(name: str, tasks: Sequence[Task]) -> str:
    values = {"round": texts.round_name(name), "minutes": texts.minutes(texts.minutes_of(tasks))}
    return _("%(round)s %(minutes)s") % values


def _events(farm: Farm, work: Work, week: Sequence[date]) -> Iterator[str]:
    for day in week:
        for name in ROUND_NAMES:
            for task in work.all(day, name):
                if task.item.job in EVENTS:
                    values = {"day": texts.weekday_day(day), "what": wording.say(task.item.title, farm.units)}
                    place = task.item.room_name
                    yield _("%(day)s: %(what)s") % values + (f" ({place})" if place else "")


def _nobodys(work: Work, week: Sequence[date]) -> Iterator[str]:
    for day in week:
        for name in ROUND_NAMES:
            tasks = [task for task in work.all(day, name) if task.nobody]
            if tasks:
                values = {
                    "day": texts.weekday_day(day),
                    "round": texts.round_name(name),
                    "chores": texts.chores(len(tasks)),
                    "minutes": texts.minutes(texts.minutes_of(tasks)),
                }
                yield _("%(day)s, %(round)s: %(chores)s, %(minutes)s") % values
