"""Reads of the calendars: which link a secret opens, what is stored for an edition, what the links page
shows.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.db.models import QuerySet

from calendars import editions
from calendars.choices import Scope
from calendars.editions import Edition
from calendars.models import CalendarBody, CalendarLink
from farm.models import Batch, Farm, Housing, Member, OrderLine
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries.tokens import token_hash


@dataclass(frozen=True, slots=True)
class Addresses:
    """The ways to give one calendar to an app.

    https: to copy (http on a machine without TLS). webcal: opens the calendar app; its `s` twin is less
    understood.
    """

    https: str
    webcal: str


def addresses(secret: str) -> Addresses:
    """Return the addresses of a new link. The secret is known only now: it is not stored."""
    address = f"{settings.ADDRESS}/c/{secret}.ics"
    return Addresses(address, f"webcal://{address.partition('://')[2]}")


def find(secret: str) -> CalendarLink | None:
    """Return the link a secret opens, on or off, with its farm and member."""
    return _whole().filter(token_sha256=token_hash(secret)).first()


def links_of(member: Member) -> QuerySet[CalendarLink]:
    """Return a member's links for the links page, oldest first, switched-off ones too."""
    return CalendarLink.objects.filter(farm_id=member.farm_id, member=member)


def links_seen_by(member: Member) -> QuerySet[CalendarLink]:
    """Return the links a member may see and switch off: a keeper all of the farm's, others their own."""
    if member.role != Role.KEEPER:
        return links_of(member)
    return CalendarLink.objects.filter(farm_id=member.farm_id).select_related("member")


def scopes_for(member: Member) -> list[Scope]:
    """Return what a member's new link may show: a child's never the adults' work."""
    return [Scope.MINE] if member.role == Role.CHILD else list(Scope)


def thing(edition: Edition) -> str:
    """Return the name of the housing or batch an edition is about, "" when there is none (any more)."""
    found: Housing | Batch | None = None
    if edition.scope == Scope.HOUSING:
        found = Housing.objects.filter(farm=edition.farm, pk=edition.about or 0).first()
    elif edition.scope == Scope.BATCH:
        found = Batch.objects.filter(farm=edition.farm, pk=edition.about or 0).first()
    return found.name if found is not None else ""


def orders_of_lines(farm: Farm) -> dict[str, int]:
    """Return the numbers of a farm's confirmed orders by those of their lines, as text."""
    rows = OrderLine.objects.filter(farm=farm, order__status=OrderStatus.CONFIRMED)
    return {str(line): order for line, order in rows.values_list("pk", "order_id")}


def live_editions(farm_id: int, now: datetime) -> list[Edition]:
    """Return the editions somebody's link shows now, each once."""
    links = _whole().filter(farm_id=farm_id)
    found = {edition.name: edition for edition in map(editions.of, _on(links, now))}
    return [found[name] for name in sorted(found)]


def stored(edition: Edition) -> CalendarBody | None:
    """Return what is stored of an edition, fresh or not, without its bytes: they are read when they are asked
    for.
    """
    rows = CalendarBody.objects.filter(farm=edition.farm, edition=edition.name)
    return rows.defer("octets", "zipped").first()


def _whole() -> QuerySet[CalendarLink]:
    return CalendarLink.objects.select_related("farm", "member__login")


def _on(links: Iterable[CalendarLink], now: datetime) -> list[CalendarLink]:
    return [link for link in links if (end := editions.ended_at(link)) is None or end > now]
