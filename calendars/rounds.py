"""The chores of a round as one timed entry with a checklist, or all rounds of a day as one line without a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from calendars import colours, round_words, wordings
from calendars.choices import Rounds
from calendars.ics import Entry
from calendars.leaving_out import left_out
from calendars.reader import Reader
from farm import wording
from farm.phrase import Phrase
from farm.planning.agenda import ROUNDS, Item

#: (source, due, round) -> "done" or "skipped"
Marks = Mapping[tuple[str, date, str], str]

LEAST_MINUTES = 10
DONE = "✓ "


def uid(day: date, name: str, reader: Reader) -> str:
    """Return the UID of a round, or of the day's one line."""
    if reader.rounds == Rounds.DAILY:
        return f"rounds:{day.isoformat()}/{reader.name}@{reader.identity}"
    return f"round:{day.isoformat()}/{name}/{reader.name}@{reader.identity}"


class RoundWriter:
    """Writes the chores of one build, `now` standing in for the instant their content last changed."""

    def __init__(self, marks: Marks, reader: Reader, now: datetime) -> None:
        self.marks = marks
        self.reader = reader
        self.now = now
        self.zone = ZoneInfo(reader.zone)
        # A hundred days ask the same: each title and each set of cautions is put in words once.
        self.titles: dict[int, str] = {}
        self.cautions: dict[tuple[str, ...], str] = {}

    def entries(self, items: Sequence[Item]) -> Iterator[Entry]:
        """Yield the entries of the chores among the items."""
        found: dict[tuple[date, str], list[Item]] = defaultdict(list)
        daily = self.reader.rounds == Rounds.DAILY
        for item in items:
            if item.kind == "chore":
                found[item.due, "" if daily else item.round].append(item)
        for (day, name), chores in found.items():
            with left_out(f"the {name or 'daily'} round of {day}"):
                shown, lines = self._lines(chores)
                if shown:
                    yield self._day(day, shown, lines) if daily else self._round(day, name, shown, lines)

    def _round(self, day: date, name: str, shown: list[Item], lines: list[str]) -> Entry:
        took = sum(chore.minutes for chore in shown)
        start, end = timed(day, self.reader.round_times[name], max(took, LEAST_MINUTES), self.zone)
        summary = " · ".join([round_words.name(name), round_words.many(len(shown)), wordings.minutes(took)])
        zone = self.reader.written_in or self.reader.zone
        return self._entry(
            day, shown, lines, name=name, summary=summary, start=start, end=end, zone=zone,
            color=colours.ROUND_COLORS[name],
        )  # fmt: skip

    def _day(self, day: date, shown: list[Item], lines: list[str]) -> Entry:
        names = [name for name in ROUNDS if any(chore.round == name for chore in shown)]
        took = sum(chore.minutes for chore in shown)
        said = ngettext("%d round", "%d rounds", len(names)) % len(names)
        grouped: list[str] = []
        for name in names:
            grouped.append(f"{round_words.name(name)}:")
            grouped += [line for chore, line in zip(shown, lines, strict=True) if chore.round == name]
        summary = " · ".join([said, round_words.many(len(shown)), wordings.minutes(took)])
        return self._entry(
            day, shown, grouped, name="", summary=summary,
            start=day, end=day + timedelta(days=1), zone="", color=colours.DAY_COLOR,
        )  # fmt: skip

    def _entry(
        self,
        day: date,
        shown: list[Item],
        lines: list[str],
        *,
        name: str,
        summary: str,
        start: date,
        end: date,
        zone: str,
        color: str,
    ) -> Entry:
        done = all(chore.occurrence in self.marks for chore in shown)
        return Entry(
            uid=uid(day, name, self.reader),
            start=start,
            end=end,
            zone=zone,
            summary=(DONE if done else "") + summary,
            stamp=self.now,
            description=wordings.fitted(lines, self._cautions(shown)),
            location=round_words.places(shown),
            url=self.reader.day_page(day),
            categories=(_("Round"),),
            color=color,
            alarm_minutes=self.reader.alarm(all_day=not zone, done=done),
        )

    def _lines(self, chores: Sequence[Item]) -> tuple[list[Item], list[str]]:
        """Return the chores that can be said, and their lines."""
        shown: list[Item] = []
        lines: list[str] = []
        for chore in chores:
            with left_out(f"chore {chore.source}"):
                state = self.marks.get(chore.occurrence, "")
                title = self._title(chore.title)
                lines.append(wordings.chore_line(chore, title, state, self.reader.doers(chore)))
                shown.append(chore)
        return shown, lines

    def _title(self, title: Phrase) -> str:
        if id(title) not in self.titles:
            self.titles[id(title)] = wording.say(title, self.reader.system)
        return self.titles[id(title)]

    def _cautions(self, chores: Sequence[Item]) -> str:
        keys = tuple(dict.fromkeys(key for chore in chores for key in chore.cautions))
        if keys not in self.cautions:
            self.cautions[keys] = wordings.caution_text(keys, wordings.ROUND_CAUTION_ROOM)
        return self.cautions[keys]


def timed(day: date, at: time, minutes: int, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the half-open instants (UTC) of `minutes` from a local time.

    A time the clocks skip that day is read with the offset before the change, one they repeat as the first
    (RFC 5545 §3.3.5).
    """
    start = datetime.combine(day, at, tzinfo=zone).astimezone(UTC)
    return start, start + timedelta(minutes=minutes)
