"""Rearing programmes: the built-in ones, and the farm's own copies, edited version by version."""

from __future__ import annotations

import re
from typing import Annotated, Any

from django.utils.translation import gettext as _
from ninja import Field, Path, Query, Router
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, In, Text
from api.models import Scope
from api.programme_shapes import NewProgrammeCopy, ProgrammeChange, ProgrammeListed, ProgrammeOut, shape
from farm.errors import BadInput
from farm.models import ProgrammeVersion
from farm.models.member import Role
from farm.queries import lookup
from farm.queries import programmes as read
from farm.services import programmes

router = Router(tags=["Programmes"])
#: By the number that batches name.
by_version = Router(tags=["Programmes"])

Key = Annotated[
    Text, Field(max_length=40, description="A built-in key, or the number of one of the farm's own.")
]


class Wanted(pages.Paging):
    """Which programmes."""

    species: Text | None = Field(None, max_length=16)
    own: bool | None = None


class Shown(In):
    """Which version of a programme."""

    version: int | None = Field(None, ge=1, le=1_000_000, description="Its number; the newest when left out.")


@router.get("/", response=Page[ProgrammeListed])
@needs(Role.CHILD, Scope.READ)
def list_programmes(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List what batches can follow: the farm's own programmes, then the built-in ones."""
    own, built_in = read.overview(request.caller.farm.pk)
    rows = [_listed(row, True) for row in own] + [_listed(row, False) for row in built_in]
    asked = {"species": query.species, "own": query.own}
    wanted = {name: value for name, value in asked.items() if value is not None}
    return pages.of_list([row for row in rows if wanted.items() <= row.items()], query)


@router.get("/{key}/", response=ProgrammeOut)
@needs(Role.CHILD, Scope.READ)
def get_programme(request: ApiRequest, key: Path[Key], query: Query[Shown]) -> dict[str, Any]:
    """Return one programme with its curves, in its newest version or the one asked for."""
    return _whole(request, read.shown(request.caller.farm.pk, key, query.version))


@router.post("/{key}/copies/", response={201: ProgrammeOut})
@needs(Role.KEEPER, Scope.WRITE)
def copy_programme(request: ApiRequest, key: Path[Key], new: NewProgrammeCopy) -> Status:
    """Copy a programme in its newest version under a new name; the copy can be edited."""
    farm = request.caller.farm
    source = read.shown(farm.pk, key).key
    own = programmes.copy(request.caller.by, source=source, name=new.name)
    request.location = f"/api/v1/programmes/{own.pk}/"
    return Status(201, _whole(request, read.shown(farm.pk, str(own.pk))))


@router.patch("/{key}/", response=ProgrammeOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_programme(request: ApiRequest, key: Path[Key], change: ProgrammeChange) -> dict[str, Any]:
    """Save a new version of one of the farm's own programmes; batches stay on theirs until they are moved."""
    caller, number = request.caller, versions.expected(request)
    shown = read.shown(caller.farm.pk, key)
    if shown.row is None or not shown.own:
        text = _("Built-in programmes stay as they are. Copy this one and edit the copy.")
        raise BadInput.at("", text)
    content = change.dict(exclude_unset=True)
    note = content.pop("note", "")
    try:
        programmes.edit(
            caller.by, programme_id=shown.row.pk, content=content, note=note, expected_number=number
        )
    except BadInput as refused:
        raise BadInput({_pointer(path): texts for path, texts in refused.fields.items()}) from refused
    return _whole(request, read.shown(caller.farm.pk, key))


@by_version.get("/{version_id}/", response=ProgrammeOut)
@needs(Role.CHILD, Scope.READ)
def get_programme_version(request: ApiRequest, version_id: Id) -> dict[str, Any]:
    """Return the version of a programme that a batch names as `programme_version_id`."""
    farm_id = request.caller.farm.pk
    version = lookup.get(ProgrammeVersion, farm_id=farm_id, pk=version_id)
    return shape(read.shown(farm_id, str(version.programme_id), version.number))


def _whole(request: ApiRequest, shown: read.Shown) -> dict[str, Any]:
    """Only of the newest version may a change be sent, so its number is what If-Match names."""
    if shown.version is not None:
        request.shown_version = shown.version.number
    return shape(shown)


def _listed(row: read.Listed, own: bool) -> dict[str, Any]:
    one = row.programme
    return {
        "key": row.key,
        "name": row.name,
        "species": one.species,
        "type": one.type,
        "own": own,
        "number": row.version,
        "batches": row.batches,
    }


def _pointer(path: str) -> str:
    """Turn the place of a row in a table, `curves.temp_c[3].value`, into a pointer's."""
    return re.sub(r"\[(\d+)\]", r"/\1", path).replace(".", "/")
