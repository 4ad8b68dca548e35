"""Reads of a farm's people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from farm.models import Invitation, Member
from farm.models.member import Role


@dataclass(frozen=True, slots=True)
class Person:
    """A member on the farm now. invited_until: the end of an open invitation, None without one."""

    member: Member
    invited_until: datetime | None


def present(farm_id: int, now: datetime) -> list[Person]:
    """Return the farm's members who have not left, by name. Two queries."""
    open_until = dict(
        Invitation.objects.filter(farm_id=farm_id, accepted_at__isnull=True, expires_at__gt=now).values_list(
            "member_id", "expires_at"
        )
    )
    rows = Member.objects.filter(farm_id=farm_id, left_on__isnull=True).select_related("login")
    return [Person(member, open_until.get(member.pk)) for member in rows]


def beside_children(farm_id: int) -> list[str]:
    """Return the names of the keepers and helpers on the farm now, keepers first: who does what a child may not."""
    rows = Member.objects.filter(farm_id=farm_id, left_on__isnull=True).exclude(role=Role.CHILD)
    return [row.name for row in sorted(rows, key=lambda row: row.role != Role.KEEPER)]
