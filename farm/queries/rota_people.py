"""The people of a farm as the rota sees them: what they can do, when they are there, what they did lately."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date

from farm.models import Assignment, Away, ChoreMark, Farm, Member
from farm.models.chore_mark import MarkState
from farm.models.member import ROUND_NAMES, Role
from farm.planning.rota.records import RotaPerson
from farm.planning.window import Window
from farm.queries import rota_rows

Spans = tuple[tuple[date, date], ...]


def people(farm: Farm, past: Window, ahead: Window) -> tuple[RotaPerson, ...]:
    """Return those on the farm now, with what they did from the first day of `past` on."""
    spans, done = aways(farm, past.start), minutes_done(farm, Window(past.start, past.days + ahead.days))
    return tuple(
        person(row, spans.get(row.pk, ()), past, done[row.pk]) for row in rota_rows.members(farm).values()
    )


def person(member: Member, away: Spans, past: Window, done: int) -> RotaPerson:
    """Return one member as the rota sees them. done: minutes they did in the window of fairness."""
    rounds = frozenset((code // 3, ROUND_NAMES[code % 3]) for code in member.rounds)
    weekdays = {weekday for weekday, _ in rounds}
    return RotaPerson(
        key=str(member.pk),
        name=member.name,
        adult=member.adult,
        child=member.role == Role.CHILD,
        abilities=member.abilities,
        rounds=rounds,
        away=away,
        max_week_minutes=member.max_week_minutes,
        share=member.share / 100,
        prefers=frozenset(member.prefers),
        refuses=frozenset(member.refuses),
        done=done,
        present_before=sum(
            day.weekday() in weekdays and not any(start <= day < end for start, end in away)
            for day in past.dates()
        ),
    )


def aways(farm: Farm, since: date) -> dict[int, Spans]:
    """Return the days away that end after `since`, by number of the member."""
    found: dict[int, list[tuple[date, date]]] = defaultdict(list)
    for member, start, end in Away.objects.filter(farm=farm, end__gt=since).values_list(
        "member_id", "start", "end"
    ):
        found[member].append((start, end))
    return {member: tuple(spans) for member, spans in found.items()}


def minutes_done(farm: Farm, window: Window) -> Counter[int]:
    """Return the minutes of what was done in the window, by number of the member.

    They are of whoever ticked it; of a chore for two also of the other one who was given it.
    """
    found: Counter[int] = Counter()
    days = {"farm": farm, "due__gte": window.start, "due__lt": window.end}
    seats = rota_rows.by_key(
        Assignment.objects.filter(**days).order_by("seat").values_list("source", "due", "round", "member_id")
    )
    marks = ChoreMark.objects.filter(**days, state=MarkState.DONE, member__isnull=False)
    for source, due, round, member, minutes in marks.values_list(
        "source", "due", "round", "member_id", "minutes"
    ):
        found[member] += minutes
        both = seats.get((source, due, round), ())
        if len(both) > 1:
            found[next(other for other in both if other != member)] += minutes
    return found
