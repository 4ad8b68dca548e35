"""Who is asking, for which farm: every page of a farm goes through `farm_page`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone

from farm.models import Farm, Login, Member
from farm.models.history import Face
from farm.models.member import Role
from farm.services.actor import Actor, local_day
from farm.web import clock

FARM_KEY = "farm_id"


@dataclass(frozen=True, slots=True)
class Visit:
    """A member looking at their farm: what a view knows of who asks. `by` is given to services."""

    farm: Farm
    member: Member
    by: Actor

    @property
    def is_keeper(self) -> bool:
        """Say whether the member plans and decides here."""
        return self.member.role == Role.KEEPER


class FarmRequest(HttpRequest):
    """A request that `farm_page` has let in."""

    visit: Visit


View = Callable[..., HttpResponse]
Page = Callable[..., HttpResponseBase]  # what Django's own class-based views return


def farm_page(role: str = Role.CHILD, *, closed: bool = False) -> Callable[[View], View]:
    """Let members of at least `role` in, with `request.visit` set and the farm's clock in force.

    Nobody: to the login page. A login without a farm: to the page that starts one. A lower role: 403, said plainly. A
    farm that is closed: to the page that says so, unless the page is there for a `closed` one too.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        @login_required
        def page(request: FarmRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            visit = visit_of(request)
            if visit is None:
                return redirect("start-farm")
            if visit.farm.closing_on is not None and not closed:
                return redirect("farm-closed")
            visit.by.require(role)
            request.visit = visit
            with timezone.override(ZoneInfo(visit.farm.time_zone)):
                return view(request, *args, **kwargs)

        page.farm_role = role  # type: ignore[attr-defined]  # read by the isolation sweep
        return page

    return wrap


def open_page(view: Page) -> Page:
    """Let anybody in. A signed-in member of a farm gets `request.visit`, so that the page shows the farm's frame."""

    @wraps(view)
    def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        visit = visit_of(request) if request.user.is_authenticated else None
        if visit is None:
            return view(request, *args, **kwargs)
        request.visit = visit  # type: ignore[attr-defined]
        with timezone.override(ZoneInfo(visit.farm.time_zone)):
            return view(request, *args, **kwargs)

    return page


def memberships(login: Login) -> list[Member]:
    """Return the farms a login belongs to, as members, by farm name."""
    return list(
        Member.objects.filter(login=login, left_on__isnull=True)
        .select_related("farm")
        .order_by("farm__name", "pk")
    )


def visit_of(request: HttpRequest) -> Visit | None:
    """Return the visit of a signed-in request: the session's farm, else the first of the login's, open ones before
    closed ones; None without any."""
    login = request.user
    assert isinstance(login, Login)
    mine = memberships(login)
    if not mine:
        return None
    chosen = request.session.get(FARM_KEY)
    usual = next((one for one in mine if one.farm.closing_on is None), mine[0])
    member = next((one for one in mine if one.farm_id == chosen), usual)
    now = clock.now()
    by = Actor(
        farm_id=member.farm_id,
        face=Face.PAGE,
        now=now,
        today=local_day(member.farm, now),
        member=member,
        login=login,
    )
    return Visit(farm=member.farm, member=member, by=by)
