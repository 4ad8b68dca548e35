"""Who writes, from where, and what day it is for them. Faces make one; services take it as `by`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farm.errors import NotAllowed
from farm.models import Farm, Login, Member
from farm.models.member import Role

_RANK = {Role.CHILD: 0, Role.HELPER: 1, Role.KEEPER: 2}


@dataclass(frozen=True, slots=True)
class Actor:
    """The author of a write.

    now: instant in UTC. today: the farm's local day at that instant. member None: the system itself (jobs, commands).
    """

    farm_id: int
    face: str
    now: datetime
    today: date
    member: Member | None = None
    login: Login | None = None

    def require(self, role: str) -> None:
        """Raise NotAllowed when the member's role is below `role`. The system may do all."""
        if self.member is not None and _RANK[Role(self.member.role)] < _RANK[Role(role)]:
            needed = Role(role).label
            raise NotAllowed(_("Only a %(role)s may do this. Ask one on your farm.") % {"role": needed})


def local_day(farm: Farm, now: datetime) -> date:
    """Return the farm's calendar day at the instant `now`."""
    return now.astimezone(ZoneInfo(farm.time_zone)).date()


def system(farm: Farm, *, face: str, now: datetime) -> Actor:
    """Return the actor for a job or command on `farm`."""
    return Actor(farm_id=farm.pk, face=face, now=now, today=local_day(farm, now))
