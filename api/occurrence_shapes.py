"""Occurrences of steps and chores, as the API shows them to one member."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from ninja import Field, Schema

from api.core.shapes import Day
from farm.models import ChoreMark
from farm.models.chore_mark import MarkState, Round
from farm.web.today.lines import Line
from farm.wording import say


class MarkOut(Schema):
    """That an occurrence was done, or left out."""

    state: MarkState
    note: str
    minutes: int
    member_id: int | None
    member: str
    at: datetime
    photo_id: int | None


class PutOffOut(Schema):
    """Who put it off, and why."""

    member_id: int | None
    member: str
    reason: str


class OccurrenceOut(Schema):
    """One time a step or chore is due. `source`, `due` and `round` identify it, also after it was put off."""

    id: str = Field(description="The same for ever; made of source, due and round.")
    source: str
    due: Day = Field(description="The day it was first due.")
    round: Round = Field(description="The round it was first due in.")
    do_on: Day = Field(description="The day it is to be done on now.")
    do_in: Round
    until: Day | None = Field(description="The last day of its window; null for one day.")
    late: bool = Field(description="From an earlier day, and still to do today.")
    kind: Literal["step", "chore", "gone"] = Field(description="gone: only its mark is left.")
    job: str = Field(description="Key of the chore table.")
    title: str
    why: str
    minutes: int = Field(description="What it is reckoned to take.")
    who: Literal["adult", "helper", "child"] = Field(description="The least experienced who may do it.")
    people: int = Field(description="Hands needed at once.")
    needs: list[str] = Field(description="Abilities of whoever does it.")
    care: bool = Field(description="Birds or eggs suffer without it the same day.")
    asks: Literal["", "note", "photo"] = Field(description="What is wanted with the tick.")
    checklist: list[str]
    cautions: list[str] = Field(description="Keys of the warnings that belong to it.")
    source_key: str = Field(description="Who says that it is due.")
    batch_ids: list[int]
    housing_id: int | None
    machine_id: int | None
    place: str
    member_ids: list[int] = Field(description="Who does it by the rota.")
    may_tick: bool = Field(description="Whoever asks may tick it.")
    can_wait_until: Day | None = Field(
        description="The last day it can be put off to; null when it can't be."
    )
    mark: MarkOut | None
    put_off: PutOffOut | None


def shape(line: Line, member_ids: tuple[int, ...], *, late: bool, units: str) -> dict[str, Any]:
    """Return a line of the agenda. units: the farm's, for sentences."""
    source, due, round = line.occurrence
    return {
        "id": line.key,
        "source": source,
        "due": due,
        "round": round,
        "do_on": line.due,
        "do_in": line.round,
        "until": line.last_day,
        "late": late,
        "title": line.title,
        "member_ids": list(member_ids),
        "may_tick": line.may,
        "can_wait_until": None if line.later is None else line.later.last,
        "mark": None if line.mark is None else mark(line.mark, line.photo),
        "put_off": None
        if line.put_off is None
        else {
            "member_id": line.put_off.member_id,
            "member": str(line.put_off.member or ""),
            "reason": line.put_off.reason,
        },
    } | _of_item(line, units)


def mark(row: ChoreMark, photo: int | None) -> dict[str, Any]:
    """Return a mark, its member read along."""
    own = ("state", "note", "minutes", "member_id", "at")
    return {name: getattr(row, name) for name in own} | {"member": str(row.member or ""), "photo_id": photo}


def _of_item(line: Line, units: str) -> dict[str, Any]:
    item = line.item
    room = (item.room if item else None) or ""
    machine = room.removeprefix("machine:") if room.startswith("machine:") else ""
    return {
        "kind": item.kind if item else "gone",
        "job": item.job if item else "",
        "why": say(item.why, units) if item else "",
        "minutes": line.minutes,
        "who": item.who if item else "helper",
        "people": item.people if item else 1,
        "needs": list(item.needs) if item else [],
        "care": bool(item and item.care),
        "asks": item.asks if item else "",
        "checklist": [say(each, units) for each in line.checklist],
        "cautions": list(item.cautions) if item else [],
        "source_key": item.source_key if item else "",
        "batch_ids": [int(key) for key in item.batches if key.isdigit()] if item else [],
        "housing_id": int(room) if room.isdigit() else None,
        "machine_id": int(machine) if machine.isdigit() else None,
        "place": item.room_name if item else "",
    }
