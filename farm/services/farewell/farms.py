"""A farm is closed, kept after all, or removed with everything that belongs to it."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.db import transaction
from django.db.models import CharField, Model, QuerySet
from django.db.models.functions import Cast
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Farm
from farm.models.member import Role
from farm.services import locks
from farm.services.actor import Actor, local_day
from farm.services.farewell.rows import of_a_farm
from farm.services.writing import write

GRACE_DAYS = 30  # between closing and removing; project default (judgement)


def close(by: Actor, *, name: str) -> date:
    """Close the farm and return the local day from which it is removed. Closing it twice is once.

    From now on its pages, calendars, links, task apps and jobs rest. name: the farm's name as the keeper typed it, so
    that no farm is closed by a slip. Raises BadInput at "name".
    """
    with write(by, "close farm", role=Role.KEEPER, closed=True) as log:
        if name.strip().casefold() != log.farm.name.casefold():
            raise BadInput.at("name", _("This is not the name of the farm. Type it as it stands above."))
        day = log.farm.closing_on or by.today + timedelta(days=GRACE_DAYS)
        if log.change(log.farm, closing_on=day):
            log.says(None, _("Farm closed"))
    return day


def keep(by: Actor) -> None:
    """Open a closed farm again: everything is as it was. Keeping one that is open changes nothing."""
    with write(by, "keep farm", role=Role.KEEPER, closed=True) as log:
        if log.change(log.farm, closing_on=None):
            log.says(None, _("Farm kept and opened again"))


def due(*, now: datetime) -> list[int]:
    """Return the farms whose time has come, each by its own calendar."""
    closed = Farm.objects.filter(closing_on__lte=now.date() + timedelta(days=1)).order_by("pk")
    return [farm.pk for farm in closed if _is_due(farm, now)]


def remove(*, farm_id: int, now: datetime) -> dict[str, int]:
    """Remove a farm whose time has come, with every row that belongs to it; return how many of each kind.

    Nothing happens to a farm that was kept after all or is not due. Raises NotFound for one that is gone.
    """
    with transaction.atomic():
        farm = locks.farm(farm_id, closed=True)
        if not _is_due(farm, now):
            return {}
        # The database checks links when the transaction ends: whatever points at what, all goes at once.
        gone = {
            model.__name__: _drop(model._base_manager.filter(**{path: farm_id}))
            for model, path in of_a_farm().items()
        }
        _drop(Farm._base_manager.filter(pk=farm_id))
    return {name: rows for name, rows in gone.items() if rows}


def _is_due(farm: Farm, now: datetime) -> bool:
    return farm.closing_on is not None and farm.closing_on <= local_day(farm, now)


def _drop(rows: QuerySet[Model]) -> int:
    """Delete rows past Django's own rules of what may go, and what support staff noted of them."""
    kind = ContentType.objects.get_for_model(rows.model, for_concrete_model=False)
    noted = LogEntry.objects.filter(content_type=kind)
    if noted.exists():
        keys = rows.annotate(as_text=Cast("pk", CharField())).values("as_text")
        noted.filter(object_id__in=keys).delete()
    return int(rows._raw_delete(rows.db) or 0)
