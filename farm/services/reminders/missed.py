"""Birds wait because a chore was missed: first those whose chore it is hear of it, then one adult after the other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.utils.translation import gettext as _

from farm.models import Farm, Notice
from farm.models.notice import NoticeKind
from farm.queries import reminders as read
from farm.queries.reminders import Reader, Task, Work
from farm.services.actor import local_day
from farm.services.reminders import texts, times
from farm.services.reminders.making import Letter
from farm.services.reminders.moments import Moment


def letters(
    farm: Farm, readers: Sequence[Reader], work: Work, now_due: Sequence[Moment], now: datetime
) -> list[Letter]:
    """Return whom to tell of rounds in which birds still wait.

    Of the steps that came while nobody looked only the last counts: nobody hears the same round three times at once.
    """
    latest = {(one.day, one.round): one for one in now_due if now < one.until}
    wanting = [one for one in readers if one.wishes is not None and one.wishes.missed]
    found: list[Letter] = []
    for moment in latest.values():
        waiting = [task for task in work.all(moment.day, moment.round) if task.item.care]
        if waiting:
            told = _told(farm, moment.day, moment.round)
            found += [
                _letter(farm, moment, to, theirs, own)
                for to, theirs, own in _whom(wanting, moment.day, waiting, told)
            ]
    return found


def is_over(notice: Notice, now: datetime) -> bool:
    """Say whether what a message about missed chores speaks of was done meanwhile."""
    day, name, _step = notice.key.split("/")
    due, farm = date.fromisoformat(day), notice.farm
    work = read.work(farm, due, 1, local_day(farm, now))
    return not any(task.item.care for task in work.all(due, name))


def _told(farm: Farm, day: date, name: str) -> set[int]:
    rows = Notice.objects.filter(
        farm=farm, kind=NoticeKind.MISSED, key__startswith=f"{day.isoformat()}/{name}/"
    )
    return set(rows.values_list("member_id", flat=True))


def _whom(
    wanting: Sequence[Reader], day: date, waiting: Sequence[Task], told: set[int]
) -> list[tuple[Reader, list[Task], bool]]:
    """Return who hears now, of what, and whether it is their own: those whose it is at first, then the next adult."""
    here = [one for one in wanting if not one.is_away(day)]
    owners = [(one, [task for task in waiting if one.member.pk in task.whose]) for one in here]
    first = [(one, theirs, True) for one, theirs in owners if theirs]
    if not told:
        owned = {id(task) for _one, theirs, _own in first for task in theirs}
        left = [task for task in waiting if id(task) not in owned]
        return first + ([(one, left, False) for one in _next(here, first)] if left else [])
    return [(one, list(waiting), False) for one in _next(here, (), told)]


def _next(
    here: Iterable[Reader], besides: Iterable[tuple[Reader, list[Task], bool]], told: Iterable[int] = ()
) -> list[Reader]:
    """Return the next adult to tell, keepers first, by name; nobody once all were."""
    heard = {*told, *(one.member.pk for one, _theirs, _own in besides)}
    adults = [one for one in here if one.member.adult and one.member.pk not in heard]
    return sorted(adults, key=lambda one: (not one.is_keeper, one.member.name, one.member.pk))[:1]


def _letter(farm: Farm, moment: Moment, to: Reader, waiting: Sequence[Task], own: bool) -> Letter:
    due_at = times.told_at(to.wishes, moment.at, times.zone_of(farm))
    with texts.in_words_of(to.member):
        values = {
            "round": texts.round_name(moment.round),
            "day": texts.weekday_day(moment.day),
            "chores": texts.chores(len(waiting)),
        }
        if own:
            subject = _("Not ticked yet: %(chores)s of yours, %(round)s %(day)s") % values
        else:
            subject = _("Birds may be waiting: %(chores)s not ticked, %(round)s %(day)s") % values
        lines = texts.by_place(farm, waiting)
        lines.append(_("If it is done, tick it, and nobody else is asked."))
    return Letter(
        to=to,
        kind=NoticeKind.MISSED,
        key=f"{moment.day.isoformat()}/{moment.round}/{moment.step}",
        subject=subject,
        body="\n".join(lines),
        url=texts.my_page(moment.day),
        due_at=due_at,
        expires_at=due_at + times.USE,
    )
