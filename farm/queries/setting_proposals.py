"""Proposals of what to set and buy: finding them, what was written since, and whom they are for."""

from __future__ import annotations

from collections.abc import Collection

from django.utils.translation import gettext as _

from farm.models import Farm, HistoryEntry, OrderLine, SettingProposal
from farm.planning.ordering import codec
from farm.planning.ordering.codec import Content
from farm.queries import lookup

#: Kinds of rows a proposal depends on, as the history names them.
_READ = (
    *("batch", "countentry", "eggentry", "eggset", "farm", "filling", "hold", "housing", "intake", "machine"),
    *("order", "orderingrules", "orderline", "programmeversion", "stay", "supplier", "weather"),
)


def by_code(farm_id: int, code: str) -> SettingProposal:
    """Return a farm's proposal by its code. Raises NotFound."""
    found = SettingProposal.objects.filter(farm_id=farm_id, code=code).values_list("pk", flat=True).first()
    return lookup.get(SettingProposal, farm_id=farm_id, pk=found)


def recent(farm: Farm, most: int) -> list[SettingProposal]:
    """Return the farm's latest proposals, newest first."""
    return list(SettingProposal.objects.filter(farm=farm).select_related("made_by", "adoption")[:most])


def content(proposal: SettingProposal) -> Content:
    """Return what was proposed."""
    return codec.from_json(proposal.content)


def changed_since(proposal: SettingProposal, entry: int) -> list[str]:
    """Return one line for each write since that touches what the proposal read; none when it still holds.

    entry: the newest line of history it knows of.
    """
    since = (
        HistoryEntry.objects.filter(farm=proposal.farm, pk__gt=entry, changes__model__in=_READ)
        .select_related("member")
        .distinct()
        .order_by("pk")
    )
    return [
        _("%(who)s: %(what)s") % {"who": each.member or _("Featherdays"), "what": each.summary}
        for each in since
    ]


def lines(farm: Farm, keys: Collection[str]) -> dict[str, OrderLine]:
    """Return the lines of orders by the keys a proposal names them by; without those that are gone."""
    rows = OrderLine.objects.filter(farm=farm, pk__in=[int(key) for key in keys])
    return {str(row.pk): row for row in rows.select_related("order", "programme")}
