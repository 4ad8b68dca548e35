"""Before each round, one message about all of it: what, where, how long, and what to mind."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from farm.models import Farm
from farm.models.notice import NoticeKind
from farm.queries.reminders import Reader, Task, Work
from farm.services.reminders import texts
from farm.services.reminders.making import Letter
from farm.services.reminders.moments import Moment


def letters(farm: Farm, work: Work, now_due: Sequence[Moment]) -> list[Letter]:
    """Return one message for each member and round in which there is something for them to do."""
    found = []
    for moment in now_due:
        assert moment.to is not None, "a round is told to somebody"
        tasks = work.of(moment.to.member, moment.day, moment.round)
        if tasks and not moment.to.is_away(moment.day):
            found.append(letter(farm, moment, moment.to, tasks))
    return found


def letter(farm: Farm, moment: Moment, to: Reader, tasks: Sequence[Task]) -> Letter:
    """Return the message about one member's round."""
    with texts.in_words_of(to.member):
        subject = _("%(round)s, %(day)s: %(chores)s, %(minutes)s") % {
            "round": texts.round_name(moment.round),
            "day": texts.weekday_day(moment.day),
            "chores": texts.chores(len(tasks)),
            "minutes": texts.minutes(texts.minutes_of(tasks)),
        }
        body = _body(farm, tasks)
    return Letter(
        to=to,
        kind=NoticeKind.ROUND,
        key=f"{moment.day.isoformat()}/{moment.round}",
        subject=subject,
        body=body,
        url=texts.my_page(moment.day),
        due_at=moment.at,
        expires_at=moment.until,
    )


def _body(farm: Farm, tasks: Sequence[Task]) -> str:
    nobodys = [task for task in tasks if task.nobody]
    lines = texts.by_place(farm, [task for task in tasks if not task.nobody])
    if nobodys:
        lines += [_("Nobody has these yet:"), *texts.by_place(farm, nobodys)]
    return "\n".join(filter(None, [*lines, texts.cautions_line(tasks)]))
