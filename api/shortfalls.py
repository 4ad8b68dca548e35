"""Where the farm as planned now falls short, and the ways out of it."""

from __future__ import annotations

from typing import Any, Literal

from django.utils.translation import gettext as _
from ninja import Field, Query, Router

from api import plan_shapes as shapes
from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, In, Text
from api.models import Scope
from api.plan_shapes import ShortfallOut, WaysOut
from farm.errors import NotFound
from farm.models.member import Role
from farm.planning.changes import Change
from farm.queries import asking
from farm.queries.asking import Standing
from farm.web.plan import ways

router = Router(tags=["Plans"])


class WhichShortfall(In):
    """A shortfall, by what it is about and one of its days."""

    kind: Literal["room", "feeder", "drinker", "heat", "unhoused"]
    day: Day
    housing: Text = Field(
        "", max_length=60, description="Key of the housing; left out for birds without one."
    )
    batch: Text = Field("", max_length=60, description="Key of a batch, where several are short of the same.")


@router.get("/", response=Page[ShortfallOut])
@needs(Role.KEEPER, Scope.READ)
def list_shortfalls(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List where birds lack floor, edges, heat or a housing as planned now, by day."""
    now = as_planned(request)
    units = request.caller.farm.units
    return pages.of_list([shapes.shortfall(one, now.problem, units) for one in now.shortfalls()], query)


@router.get("/ways-out/", response=WaysOut)
@needs(Role.KEEPER, Scope.READ)
def list_ways_out(request: ApiRequest, query: Query[WhichShortfall]) -> dict[str, Any]:
    """Find ways out of a shortfall as planned now. Takes up to some seconds."""
    return ways_out(request, as_planned(request), query)


def as_planned(request: ApiRequest) -> Standing:
    """Return the farm as it is planned now."""
    return asking.adopted(request.caller.farm, request.caller.by.today)


def ways_out(
    request: ApiRequest, now: Standing, query: WhichShortfall, tried: tuple[Change, ...] = ()
) -> dict[str, Any]:
    """Return the ways out of a shortfall, tried on top of `tried`. Raises NotFound for one that is not there."""
    short = now.at(query.kind, query.housing or None, query.day, query.batch)
    if short is None:
        raise NotFound(_("There is no such shortfall any more."))
    farm = request.caller.farm
    return shapes.ways(ways.offers(farm.pk, now, short, tried), now.problem, farm.units)
