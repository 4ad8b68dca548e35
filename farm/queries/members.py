"""Reads of a farm's people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext

from farm.models import Away, Invitation, Member, OwnChore
from farm.models.member import Role
from farm.queries import aways
from farm.trade.chores import chores

#: What the key of one of the farm's own chores begins with; its number follows.
OWN = "own:"


@dataclass(frozen=True, slots=True)
class Person:
    """A member on the farm now. invited_until: the end of an open invitation, None without one.

    away: the days away that are not over yet.
    """

    member: Member
    invited_until: datetime | None
    away: tuple[Away, ...] = ()


@dataclass(frozen=True, slots=True)
class ChoreChoice:
    """A chore somebody may like or not do. key: as the rota knows it. kind: routine, step or own."""

    key: str
    title: str
    kind: str


def present(farm_id: int, now: datetime, today: date | None = None) -> list[Person]:
    """Return the farm's members who have not left, by name. Two queries, three with their days away from `today` on."""
    open_until = dict(
        Invitation.objects.filter(farm_id=farm_id, accepted_at__isnull=True, expires_at__gt=now).values_list(
            "member_id", "expires_at"
        )
    )
    rows = Member.objects.filter(farm_id=farm_id, left_on__isnull=True).select_related("login")
    away = {} if today is None else aways.coming(farm_id, today)
    return [Person(member, open_until.get(member.pk), away.get(member.pk, ())) for member in rows]


def beside_children(farm_id: int) -> list[str]:
    """Return the names of the keepers and helpers on the farm now, keepers first: who does what a child may not."""
    rows = Member.objects.filter(farm_id=farm_id, left_on__isnull=True).exclude(role=Role.CHILD)
    return [row.name for row in sorted(rows, key=lambda row: row.role != Role.KEEPER)]


def choices(farm_id: int) -> list[ChoreChoice]:
    """Return what members may like or not do: the chores of the trade table, then the farm's own. One query."""
    own = OwnChore.objects.filter(farm_id=farm_id, ended_on__isnull=True).values_list("pk", "title")
    return [
        *(ChoreChoice(chore.key, gettext(chore.title), chore.kind) for chore in chores().values()),
        *(ChoreChoice(f"{OWN}{pk}", title, "own") for pk, title in own),
    ]
