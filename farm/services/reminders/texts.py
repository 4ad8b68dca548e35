"""What messages have in common: the reader's language, links, and chores in lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from contextlib import AbstractContextManager
from datetime import date

from django.conf import settings
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, override

from farm import wording
from farm.models import Farm, Member
from farm.models.chore_mark import Round
from farm.queries.reminders import Task
from farm.trade.cautions import cautions

MY_PAGE = "/my/"


def in_words_of(member: Member) -> AbstractContextManager[None]:
    """Put the member's language in force, the site's for somebody who chose none."""
    chosen = member.login.language if member.login is not None else ""
    return override(chosen or settings.LANGUAGE_CODE)


def my_page(day: date | None = None) -> str:
    """Return the address of a member's own rounds, on one day when given."""
    return MY_PAGE if day is None else f"{MY_PAGE}?day={day.isoformat()}"


def weekday_day(day: date) -> str:
    """Return a day as "Sat 2 May"."""
    return f"{date_format(day, 'D')} {wording.day(day)}"


def round_name(name: str) -> str:
    """Return a round in words: "Morning round"."""
    return {
        Round.MORNING.value: _("Morning round"),
        Round.MIDDAY.value: _("Midday round"),
        Round.EVENING.value: _("Evening round"),
    }[name]


def minutes_of(tasks: Iterable[Task]) -> int:
    """Return the minutes that tasks are reckoned to take."""
    return sum(task.item.minutes for task in tasks)


def chores(count: int) -> str:
    """Return "1 chore" or "3 chores"."""
    return ngettext("%(n)d chore", "%(n)d chores", count) % {"n": count}


def minutes(count: int) -> str:
    """Return "1 minute" or "25 minutes"."""
    return ngettext("%(n)d minute", "%(n)d minutes", count) % {"n": count}


def by_place(farm: Farm, tasks: Iterable[Task]) -> list[str]:
    """Return one line for each place: "Brooder 1: Feed and water, Look at the birds (12 minutes)"."""
    places: dict[str, list[Task]] = defaultdict(list)
    for task in tasks:
        places[task.item.room_name].append(task)
    return [_line(farm, place, places[place]) for place in sorted(places)]


def cautions_line(tasks: Iterable[Task]) -> str:
    """Return the titles of the cautions that belong to the tasks, in one line; "" without any."""
    known = cautions()
    keys = dict.fromkeys(key for task in tasks for key in task.item.cautions if key in known)
    if not keys:
        return ""
    return _("Mind: %(what)s.") % {"what": "; ".join(_(known[key].title) for key in keys)}


def _line(farm: Farm, place: str, tasks: list[Task]) -> str:
    said = dict.fromkeys(wording.say(task.item.title, farm.units) for task in tasks)
    values = {"place": place, "what": ", ".join(said), "time": minutes(minutes_of(tasks))}
    if not place:
        return _("%(what)s (%(time)s)") % values
    return _("%(place)s: %(what)s (%(time)s)") % values
