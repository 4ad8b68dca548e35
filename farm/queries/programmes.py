"""Rearing programmes: the built-in ones and the farm's own versions, as the pure parts know them."""

from __future__ import annotations

from farm.models import Batch, ProgrammeVersion, RearingProgramme
from farm.trade import load
from farm.trade.programme import Programme

_MOST_READ = 512
_READ: dict[str, Programme] = {}


def of(batch: Batch) -> Programme:
    """Return the programme that `batch` follows, in the version it started on or was moved to."""
    return of_version(batch.programme_version)


def of_version(version: ProgrammeVersion) -> Programme:
    """Return the content of one version. Versions never change, so each is read once a process."""
    if version.digest not in _READ:
        if len(_READ) >= _MOST_READ:
            _READ.clear()
        _READ[version.digest] = load.from_dict(version.content)
    return _READ[version.digest]


def choices(farm_id: int) -> list[tuple[str, str]]:
    """Return what a batch can follow: the farm's edited programmes by number, then the built-in ones by key."""
    own = RearingProgramme.objects.filter(farm_id=farm_id, edited=True)
    return [(str(row.pk), row.name) for row in own] + [
        (programme.key, programme.name) for programme in load.programmes().values()
    ]


def latest(programme: RearingProgramme) -> ProgrammeVersion:
    """Return the newest version of a programme."""
    return programme.versions.order_by("-number")[0]
