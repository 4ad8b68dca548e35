"""Rearing programmes: the built-in ones and the farm's own versions, as the pure parts know them."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext

from farm.models import Batch, ProgrammeVersion, RearingProgramme
from farm.queries import lookup
from farm.trade import load
from farm.trade import species as species_table
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


def by_species(farm_id: int) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return the choices grouped under the name of their species: the farm's own programmes before the built-in."""
    found: dict[str, list[tuple[str, str]]] = {key: [] for key in species_table.species()}
    for row in RearingProgramme.objects.filter(farm_id=farm_id, edited=True):
        found[row.species].append((str(row.pk), row.name))
    for programme in load.programmes().values():
        found[programme.species].append((programme.key, gettext(programme.name)))
    return [(gettext(species_table.species()[key].plural), rows) for key, rows in found.items() if rows]


def latest(programme: RearingProgramme) -> ProgrammeVersion:
    """Return the newest version of a programme."""
    return programme.versions.order_by("-number")[0]


@dataclass(frozen=True, slots=True)
class Shown:
    """One programme as its page shows it.

    row: the farm's record, None for a built-in one that no batch follows. version: the one shown, None for the tables
    as shipped. versions: newest first.
    """

    key: str
    programme: Programme
    row: RearingProgramme | None
    version: ProgrammeVersion | None
    versions: tuple[ProgrammeVersion, ...]

    @property
    def own(self) -> bool:
        """Say whether it is a copy that a keeper may edit."""
        return self.row is not None and self.row.edited

    @property
    def newest(self) -> bool:
        """Say whether the newest version is shown."""
        return self.version is None or self.version == self.versions[0]


def shown(farm_id: int, key: str, number: int | None = None) -> Shown:
    """Return a built-in programme by its key, or the farm's own by its number; in version `number`, or the newest.

    Raises NotFound.
    """
    built_in = load.programmes().get(key)
    if built_in is not None:
        row = RearingProgramme.objects.filter(farm_id=farm_id, built_in=key, edited=False).first()
    else:
        row = lookup.get(RearingProgramme, farm_id=farm_id, pk=key)
        key = row.built_in if not row.edited else str(row.pk)
    versions = () if row is None else tuple(row.versions.select_related("programme").order_by("-number"))
    if number is not None:
        wanted = next((version for version in versions if version.number == number), None)
        version = lookup.get(ProgrammeVersion, farm_id=farm_id, pk=wanted.pk if wanted else None)
        return Shown(key, of_version(version), row, version, versions)
    if built_in is not None:
        return Shown(key, built_in, row, None, versions)
    return Shown(key, of_version(versions[0]), row, versions[0], versions)


def followers(row: RearingProgramme | None) -> list[Batch]:
    """Return the batches that follow any version of a programme and still have birds, by hatch day."""
    if row is None:
        return []
    found = (
        Batch.objects.filter(programme_version__programme=row)
        .select_related("programme_version__programme")
        .prefetch_related("count_entries")
    )
    return [batch for batch in found if sum(entry.birds for entry in batch.count_entries.all()) > 0]


def versions_for(batch: Batch) -> list[tuple[str, str]]:
    """Return the versions a batch could be moved to: `v12` for version 12 of the farm, or a built-in key, with names.

    A built-in programme is listed by its key when the farm has not taken over what is shipped now.
    """
    rows = (
        ProgrammeVersion.objects.filter(farm_id=batch.farm_id, programme__species=batch.species)
        .exclude(pk=batch.programme_version_id)
        .select_related("programme")
        .order_by("programme__name", "-number")
    )
    taken = {
        version.programme.built_in: of_version(version)
        for version in ProgrammeVersion.objects.filter(farm_id=batch.farm_id, programme__edited=False)
        .select_related("programme")
        .order_by("number")
    }
    fresh = [
        (key, programme.name)
        for key, programme in load.programmes().items()
        if programme.species == batch.species and taken.get(key) != programme
    ]
    return [(f"v{row.pk}", str(row)) for row in rows] + fresh


def by_words(farm_id: int) -> dict[str, str]:
    """Return what a keeper may call a programme, in small letters, with the choice it names.

    Names and keys of all; a species by itself where it has one programme only.
    """
    found = {name.casefold(): value for value, name in reversed(choices(farm_id))}
    alone: dict[str, list[str]] = {}
    for key, programme in load.programmes().items():
        found[key] = found[key.replace("_", " ")] = key
        alone.setdefault(programme.species, []).append(key)
    for species, keys in alone.items():
        if len(keys) == 1:
            found.setdefault(species, keys[0])
    return found


@dataclass(frozen=True, slots=True)
class Listed:
    """One line of the list of programmes. version: the newest, 0 for tables no batch follows; batches: with birds."""

    key: str
    programme: Programme
    name: str
    version: int
    batches: int


def overview(farm_id: int) -> tuple[list[Listed], list[Listed]]:
    """Return the farm's own programmes and the built-in ones. Four queries, however many."""
    rows = list(RearingProgramme.objects.filter(farm_id=farm_id).prefetch_related("versions"))
    following: dict[int, int] = {}
    for batch in (
        Batch.objects.filter(farm_id=farm_id)
        .select_related("programme_version")
        .prefetch_related("count_entries")
    ):
        if sum(entry.birds for entry in batch.count_entries.all()) > 0:
            number = batch.programme_version.programme_id
            following[number] = following.get(number, 0) + 1
    own = []
    for row in rows:
        if row.edited:
            newest = max(row.versions.all(), key=lambda version: version.number)
            own.append(
                Listed(str(row.pk), of_version(newest), row.name, newest.number, following.get(row.pk, 0))
            )
    taken = {row.built_in: row for row in rows if not row.edited}
    built_in = []
    for key, programme in load.programmes().items():
        taken_row = taken.get(key)
        versions = [version.number for version in taken_row.versions.all()] if taken_row else []
        batches = following.get(taken_row.pk, 0) if taken_row else 0
        built_in.append(Listed(key, programme, programme.name, max(versions, default=0), batches))
    return own, built_in
