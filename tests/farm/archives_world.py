"""Farms with one of everything, and archives of them as they are, or changed by hand with their sums made right."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from farm.models import (
    Alert,
    EggEntry,
    Farm,
    HistoryEntry,
    LineOdds,
    Login,
    MarkPhoto,
    Member,
    OrderingRules,
    Pin,
    Postponement,
    ReminderWishes,
)
from farm.models.history import Face
from farm.queries.archives import shape
from farm.services import archives, batches, chores, history, members, programmes, rota, suppliers, weather
from farm.services.archives.opening import Archive
from farm.services.archives.reading import read
from farm.services.archives.renumbering import Renumbering
from farm.services.demo.scene_weather import CLIMATE
from tests.architecture.addresses import things
from tests.conftest import NOON, TODAY, World
from tests.farm.plan_cases import adopted, solved
from tests.farm.test_photos_service import picture

Entries = dict[str, bytes]
EMAIL = "cleo@example.org"


def everything(world: World) -> World:
    """Give a farm one of each kind of record, things that are gone, and every mention of a number there is."""
    found = things(world)
    MarkPhoto.objects.filter(pk=found["photo"].pk).update(jpeg=picture(64, 48))
    world.add_housing("Loft", area_m2=30.0)
    gone = world.add_batch("Gone", housing="Loft")
    history.undo(world.by, entry_id=HistoryEntry.objects.get(noun="batch", noun_id=gone.pk).pk)
    adopted(world, solved(world))
    solved(world)
    own, chore, keeper = found["programme"], found["own_chore"], world.keeper
    batches.start(world.by, new=batches.NewBatch(name="Own", programme=str(own.pk), hatch_day=TODAY, birds=5))
    suppliers.add(world.by, name="Neighbour", types=["duck", str(own.pk)])
    source = f"own:{chore.pk}/own_chore"
    Member.objects.filter(pk=keeper.pk).update(prefers=["look", f"own:{chore.pk}"])
    occurrence = {"farm": world.farm, "source": source, "due": TODAY, "round": "morning"}
    Pin.objects.create(member=keeper, **occurrence)
    Postponement.objects.create(
        member=keeper, to_due=TODAY + timedelta(days=1), to_round="evening", **occurrence
    )
    places = {"batch": found["batch"], "housing": found["housing"]}
    key = f"cold:{found['batch'].pk}:{found['housing'].pk}:{TODAY}"
    Alert.objects.create(
        farm=world.farm,
        kind="cold",
        key=key,
        day=TODAY,
        values={"low_c": -3.5, "outside_c": 12.0},
        raised_at=NOON,
        **places,
    )
    programmes.copy(world.by, source=str(own.pk), name="Our ducks, later")
    members.add(world.by, name="Left", role="helper")
    line = found["order"].lines.get()
    LineOdds.objects.create(
        farm=world.farm, line=line, day=TODAY, allotted=1, expected=1.5, chance=0.25, low=0, high=3
    )
    OrderingRules.objects.create(farm=world.farm, confidence=0.8)
    ReminderWishes.objects.create(farm=world.farm, member=keeper, outlook_weekday=4)
    said = {"kind": "clear", "eggs": 2, "day": TODAY, "created_at": NOON}
    EggEntry.objects.create(farm=world.farm, egg_set=found["eggs"], member=keeper, **said)
    weather.enter(world.by, months=CLIMATE)
    rota.start(world.by)
    rota.refresh(farm_id=world.farm.pk, now=NOON)
    world.farm.refresh_from_db()
    return world


def small(world: World) -> bytes:
    """Return the archive of a farm with a batch, a tick and its picture."""
    world.add_batch("Browns", housing="Brooder 1")
    mark = chores.mark(world.by, source="room:1/look", due=TODAY, round="morning", title="Look")
    MarkPhoto.objects.create(farm=world.farm, mark=mark, jpeg=picture(32, 32), at=world.by.now)
    return taken(world)


def taken(world: World) -> bytes:
    """Return a farm's archive as its keeper saves it."""
    out = io.BytesIO()
    archives.take(world.by, out)
    return out.getvalue()


def brought(octets: bytes, *, as_member: str = "", login: Login | None = None) -> Farm:
    """Bring a farm of an archive, for somebody who is new here."""
    login = login or Login.objects.filter(email=EMAIL).first() or Login.objects.create_user(EMAIL, "pw")
    return archives.bring(io.BytesIO(octets), login=login, as_member=as_member, now=NOON, face=Face.PAGE)


def entries(octets: bytes) -> Entries:
    """Return what is in a zip."""
    with zipfile.ZipFile(io.BytesIO(octets)) as found:
        return {name: found.read(name) for name in found.namelist()}


def packed(found: Entries) -> bytes:
    """Return a zip of entries as they are."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, octets in found.items():
            made.writestr(name, octets)
    return out.getvalue()


def summed(found: Entries) -> bytes:
    """Return a zip of entries with sums that are right, whatever the entries say."""
    rest = {name: octets for name, octets in found.items() if name != shape.SUMS}
    lines = [f"{hashlib.sha256(octets).hexdigest()}  {name}\n" for name, octets in rest.items()]
    return packed({**rest, shape.SUMS: "".join(lines).encode()})


def rows_of(octets: bytes, noun: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in entries(octets)[f"rows/{noun}.jsonl"].splitlines()]


def with_rows(
    octets: bytes, noun: str, change: Callable[[list[dict[str, Any]]], list[dict[str, Any]] | None]
) -> bytes:
    """Return an archive whose rows of a noun were changed by hand; counts, columns and sums fit."""
    found, rows = entries(octets), rows_of(octets, noun)
    changed = change(rows)
    rows = rows if changed is None else changed
    about = json.loads(found[shape.ABOUT])
    columns = list(rows[0]) if rows else about["nouns"].get(noun, {}).get("columns", [])
    about["nouns"][noun] = {"columns": columns, "rows": len(rows)}
    found[shape.ABOUT] = json.dumps(about).encode()
    found[f"rows/{noun}.jsonl"] = "".join(json.dumps(row) + "\n" for row in rows).encode()
    return summed(found)


def told(octets: bytes) -> dict[str, list[dict[str, Any]]]:
    """Return an archive's rows with numbers that depend on their order alone."""
    rows = read(Archive(io.BytesIO(octets))).rows
    numbered = Renumbering(rows, lambda _model, count: list(range(1, count + 1)))
    return {noun: numbered.rows(noun, rows[noun]) for noun in rows}


def without_import(found: dict[str, list[dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    """Return rows without what bringing the farm added: one line of history, and a keeper's login."""
    *entries_before, last = found["historyentry"]
    assert last["verb"] == "bring farm"
    (change,) = (one for one in found["change"] if one["entry_id"] == last["id"])
    farm = found["farm"][0]
    return {
        **found,
        "historyentry": entries_before,
        "change": [one for one in found["change"] if one is not change],
        "farm": [{**farm, "version": farm["version"] - 1}],
        "member": [
            {**one, "version": one["version"] - (one["id"] == change["row"])} for one in found["member"]
        ],
    }


def uncoded(found: dict[str, list[dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    """Return rows without the codes of cards: beside the old farm, housings get others."""

    def plain(row: dict[str, Any] | None) -> dict[str, Any] | None:
        return row and {**row, "code": ""}

    return {
        **found,
        "housing": [{**row, "code": ""} for row in found["housing"]],
        "change": [
            {**row, "before": plain(row["before"]), "after": plain(row["after"])}
            if row["model"] == "housing"
            else row
            for row in found["change"]
        ],
    }


def counted() -> dict[str, int]:
    """Return how many rows there are of everything that could be of a farm."""
    return {model._meta.label: model._default_manager.count() for model in shape.of_a_farm()}
