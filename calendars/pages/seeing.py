"""The one way a page gets at a link: among those its member may see."""

from __future__ import annotations

from django.utils.translation import gettext as _

from calendars import queries
from calendars.models import CalendarLink
from farm.errors import NotFound
from farm.web.access import FarmRequest


def link_seen(request: FarmRequest, pk: int, *, on: bool = True) -> CalendarLink:
    """Return a link the member may see, with its farm and member. Raises NotFound, also (on) for one that is off."""
    rows = queries.links_seen_by(request.visit.member).select_related("farm", "member__login")
    link = rows.filter(pk=pk).first()
    if link is None or (on and (link.revoked_at is not None or link.member.left_on is not None)):
        raise NotFound(
            _("There is no such %(thing)s on this farm.") % {"thing": CalendarLink._meta.verbose_name}
        )
    return link
