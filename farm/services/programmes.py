"""Rearing programmes of a farm: built-in ones taken over as they are, copies edited version by version."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput, Stale
from farm.models import ProgrammeVersion, RearingProgramme
from farm.models.member import Role
from farm.phrase import Phrase
from farm.queries import lookup
from farm.queries import programmes as read
from farm.services.actor import Actor
from farm.services.writing import Log, write
from farm.trade import load
from farm.trade.load import TableError


def copy(by: Actor, *, source: str, name: str) -> RearingProgramme:
    """Copy a programme (a built-in key or one of the farm's by number) under a new name. Raises BadInput."""
    with write(by, "copy programme", role=Role.KEEPER) as log:
        version = version_for(log, source)
        if name.strip().casefold() in {row.name.casefold() for row in load.programmes().values()}:
            raise BadInput.at("name", _("A built-in programme has this name. Choose another."))
        content = {**version.content, "name": name.strip()}
        own = RearingProgramme(
            farm=log.farm,
            name=name.strip(),
            species=version.programme.species,
            type=version.programme.type,
            built_in=version.programme.built_in,
            edited=True,
        )
        log.add(own)
        _add_version(log, own, content, number=1, note=_("Copied from %(source)s") % {"source": version})
        log.says(own, _("Programme %(name)s copied from %(source)s") % {"name": own, "source": version})
    return own


def edit(
    by: Actor, *, programme_id: int, content: Mapping[str, Any], note: str, expected_number: int | None
) -> ProgrammeVersion:
    """Save a new version of one of the farm's own programmes; batches keep the version they are on.

    content: any of jobs, rules, curves and feeds, each whole; what is not given stays. expected_number None: whatever
    version is there. Raises BadInput by table row, Stale when another version was saved meanwhile.
    """
    with write(by, "edit programme", role=Role.KEEPER) as log:
        own = lookup.get(RearingProgramme, farm_id=by.farm_id, pk=programme_id)
        if not own.edited:
            raise BadInput.at("", _("Built-in programmes stay as they are. Copy this one and edit the copy."))
        newest = read.latest(own)
        if expected_number is not None and newest.number != expected_number:
            raise _stale(own, expected_number)
        # What a programme is for is settled when it is made; only its numbers are edited.
        fixed = {name: newest.content[name] for name in ("key", "species", "type")}
        checked = _checked({**newest.content, **content, **fixed, "name": own.name})
        if checked == newest.content:
            return newest
        version = _add_version(log, own, checked, number=newest.number + 1, note=note)
        log.says(own, _("Programme %(version)s saved") % {"version": version})
    return version


def take(by: Actor, *, choice: str) -> ProgrammeVersion:
    """Return the version that a choice of `queries.programmes.versions_for` names: `v12`, or a built-in key."""
    with write(by, "take programme", role=Role.KEEPER) as log:
        if choice.startswith("v"):
            return lookup.get(ProgrammeVersion, farm_id=by.farm_id, pk=choice[1:])
        return version_for(log, choice)


def version_for(log: Log, programme: str) -> ProgrammeVersion:
    """Return the newest version of a built-in programme (by key) or of one of the farm's own (by number)."""
    if programme in load.programmes():
        return _taken_over(log, programme)
    if not (programme.isascii() and programme.isdigit()):
        raise BadInput.at("programme", _("Choose a species and type."))
    return read.latest(lookup.get(RearingProgramme, farm_id=log.farm.pk, pk=programme))


def _taken_over(log: Log, key: str) -> ProgrammeVersion:
    """Return the farm's row of a built-in programme; a newer release of the tables becomes a new version.

    Not part of the history: it repeats what the program ships and there is nothing to take back.
    """
    built_in = load.programmes()[key]
    content = load.to_dict(built_in)
    row, _made = RearingProgramme.objects.get_or_create(
        farm=log.farm,
        built_in=key,
        edited=False,
        defaults={
            "name": _free_name(log, built_in.name),
            "species": built_in.species,
            "type": built_in.type,
        },
    )
    newest = row.versions.order_by("-number").first()
    if newest is not None and newest.digest == digest(content):
        return newest
    number = 1 if newest is None else newest.number + 1
    return ProgrammeVersion.objects.create(
        farm=log.farm,
        programme=row,
        number=number,
        content=content,
        digest=digest(content),
        created_at=log.by.now,
    )


def _free_name(log: Log, name: str) -> str:
    """Return the built-in name, told apart when a later release ships one that the farm gave its own copy."""
    taken = set(RearingProgramme.objects.filter(farm=log.farm).values_list("name", flat=True))
    while name in taken:
        name = _("%(name)s (built in)") % {"name": name}
    return name


def _stale(own: RearingProgramme, seen: int) -> Stale:
    since = own.versions.filter(number__gt=seen).order_by("number")
    return Stale(
        _(
            "Somebody saved another version of this programme while you had it open. Nothing was overwritten; "
            "look again and save once more."
        ),
        changes=[f"{version}: {version.note}" if version.note else str(version) for version in since],
    )


def _add_version(
    log: Log, own: RearingProgramme, content: Mapping[str, Any], *, number: int, note: str
) -> ProgrammeVersion:
    version = ProgrammeVersion(
        farm=log.farm,
        programme=own,
        number=number,
        content=content,
        digest=digest(content),
        note=note,
        created_at=log.by.now,
    )
    log.add(version)
    return version


def _checked(content: Mapping[str, Any]) -> dict[str, Any]:
    try:
        return load.to_dict(load.from_dict(content))
    except TableError as refused:
        fields: dict[str, list[object]] = {}
        for problem in refused.problems:
            path, text = problem
            fields.setdefault(path, []).append(wording.say(text) if isinstance(text, Phrase) else text)
        raise BadInput(fields) from refused


def digest(content: Mapping[str, Any]) -> str:
    """Return the SHA-256 of a programme's canonical JSON: equal content, equal digest."""
    return hashlib.sha256(json.dumps(content, sort_keys=True, separators=(",", ":")).encode()).hexdigest()
