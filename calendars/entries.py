"""The agenda as calendar entries: a step is an all-day event; the chores of a round come from `calendars.rounds`.

Choices (calendars.ics writes them, tests hold them):
- A done step keeps its place under "✓ title"; a round does when all of it is done or left out. A step left
  out on purpose shows as "Left out: title". Neither is CANCELLED: that is for what is no longer planned at
  all.
- A step's identity is its source, so that a hatch day put right moves the event; a round's is its day, name
  and reader.
- Whose an item is, `calendars.whose` says; where others do it too, the body names them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from urllib.parse import quote

from django.utils.translation import gettext as _

from calendars import rounds, topics, wordings
from calendars.ics import Entry
from calendars.leaving_out import left_out
from calendars.reader import Reader
from calendars.rounds import DONE, Marks, RoundWriter
from farm import wording
from farm.planning.agenda import Item

__all__ = ["DONE", "Marks", "Reader", "entries", "uids"]

#: How sources of own chores begin: even one that comes once in a window comes again in the next.
_OWN = "own:"


def entries(items: Sequence[Item], marks: Marks, reader: Reader, now: datetime) -> list[Entry]:
    """Return the entries of an agenda, `now` standing in for the instant their content last changed.

    An item that can't be shown is left out and logged: it must not take everybody's calendar down.
    """
    repeated = _repeated(items)
    mine = [item for item in items if reader.shows(item)]
    steps = (_step(item, repeated, marks, reader, now) for item in mine if item.kind == "step")
    return [*(entry for entry in steps if entry), *RoundWriter(marks, reader, now).entries(mine)]


def uids(items: Sequence[Item], reader: Reader) -> Iterator[str]:
    """Yield the UIDs that the steps of an agenda, and the rounds of its days, have for the reader, shown or not."""
    repeated = _repeated(items)
    for item in items:
        if item.kind == "step":
            yield _step_uid(item, repeated, reader)
        else:
            yield rounds.uid(item.due, item.round, reader)


def _repeated(items: Sequence[Item]) -> frozenset[str]:
    """Return the sources that can't name one event, as they come more than once: the day has to, too."""
    times = Counter(item.source for item in items if item.kind == "step")
    return frozenset(source for source, many in times.items() if many > 1 or source.startswith(_OWN))


def _step_uid(item: Item, repeated: frozenset[str], reader: Reader) -> str:
    source, first_due, _round = item.occurrence
    key = f"{source}/{first_due.isoformat()}" if source in repeated else source
    return f"step:{quote(key, safe=':/')}@{reader.identity}"


def _step(item: Item, repeated: frozenset[str], marks: Marks, reader: Reader, now: datetime) -> Entry | None:
    """Return a step's entry, None where it could not be written."""
    with left_out(f"step {item.source}"):
        state = marks.get(item.occurrence, "")
        forms = {"done": f"{DONE}%s", "skipped": _("Left out: %s")}
        return Entry(
            uid=_step_uid(item, repeated, reader),
            start=item.due,
            end=item.due + timedelta(days=1),
            summary=forms.get(state, "%s") % wording.say(item.title, reader.system),
            stamp=now,
            description=wordings.step_body(item, reader.system, reader.doers(item)),
            location=item.room_name,
            url=reader.page(item),
            categories=topics.categories(item),
            color=reader.colour(item),
            alarm_minutes=reader.alarm(all_day=True, done=bool(state)),
        )
    return None
