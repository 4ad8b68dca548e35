"""Reads of the days on which members are away."""

from __future__ import annotations

from datetime import date

from farm.models import Away


def coming(farm_id: int, today: date) -> dict[int, tuple[Away, ...]]:
    """Return the days away that are not over yet, by member and first day. One query."""
    found: dict[int, list[Away]] = {}
    for away in Away.objects.filter(farm_id=farm_id, end__gt=today):
        found.setdefault(away.member_id, []).append(away)
    return {member: tuple(rows) for member, rows in found.items()}


def of_member(member_id: int, today: date) -> list[Away]:
    """Return a member's days away that are not over yet, by first day."""
    return list(Away.objects.filter(member_id=member_id, end__gt=today))


def overlapping(member_id: int, start: date, end: date) -> Away | None:
    """Return days away entered for the member that share a day with [start, end), None without any.

    Those from outside give way to what somebody enters, so they don't count.
    """
    return Away.objects.filter(member_id=member_id, start__lt=end, end__gt=start, outside="").first()
