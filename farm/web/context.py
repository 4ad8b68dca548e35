"""What every page's frame shows: the farm, the member, the other farms."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from farm.web.access import Visit, memberships


def frame(request: HttpRequest) -> dict[str, Any]:
    """Return the visit and the login's farms, or nothing on pages outside a farm."""
    visit: Visit | None = getattr(request, "visit", None)
    if visit is None or visit.by.login is None:
        return {}
    return {"visit": visit, "farm": visit.farm, "memberships": memberships(visit.by.login)}
