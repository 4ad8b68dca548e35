"""Hollow Farm with a rota: Ada keeps it, Ben is a grown-up helper, Cara a child; chicks under heat in Brooder 1."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from farm.models import Assignment, Member, Pin
from farm.models.member import Role
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import rota as reads
from farm.services import rota
from farm.services.actor import Actor
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day


def able(by: Actor, **fields: Any) -> Actor:
    """Set fields of the actor's member as they are in the database, past all services."""
    member = by.member
    assert member is not None
    for name, value in fields.items():
        setattr(member, name, value)
    member.save()
    return by


def adult(world: World, name: str, role: str = Role.HELPER, **fields: Any) -> Actor:
    """Return a grown-up who can do everything."""
    can = {f"can_{short}": True for short in ("heat", "lift", "water", "dose", "slaughter")}
    return able(world.add_member(name, role), **({"adult": True} | can | fields))


def child(world: World, name: str, **fields: Any) -> Actor:
    return able(world.add_member(name, Role.CHILD), **fields)


def people(world: World) -> dict[str, Actor]:
    """Return Ada, Ben and Cara."""
    able(world.by, adult=True, can_heat=True, can_lift=True, can_dose=True, can_slaughter=True)
    return {"Ada": world.by, "Ben": adult(world, "Ben"), "Cara": child(world, "Cara")}


def begin(world: World, *, at: datetime = NOON, **rules: Any) -> int:
    """Start a rota of one week, or as `rules` say, and work it out."""
    rota.start(world.by, **({"weeks": 1, "fair_days": 14} | rules))
    return refresh(world, at)


def refresh(world: World, at: datetime = NOON) -> int:
    return rota.refresh(farm_id=world.farm.pk, now=at)


def rows(world: World) -> dict[Key, tuple[int, ...]]:
    """Return who has what from the database alone."""
    return reads.assigned(world.farm, Window(day(-60), 150))


def key(world: World, job: str, offset: int = 0, round: str = "morning", place: str = "Brooder 1") -> Key:
    return f"room:{world.housing[place].pk}/{job}", day(offset), round


def of(world: World, member: Member, on: date = TODAY, round: str = "evening") -> list[Key]:
    """Return what a member is given in one round."""
    found = Assignment.objects.filter(farm=world.farm, member=member, day=on, round=round)
    return [row.occurrence for row in found.order_by("source")]


def pins(world: World) -> set[tuple[Key, int]]:
    return {(pin.occurrence, pin.member_id) for pin in Pin.objects.filter(farm=world.farm)}


def with_turns(world: World) -> dict[str, Actor]:
    """Return Ada, Ben, Cara and Dora. Ben has all of tomorrow's morning, Ada all of the evening two days on."""
    found = people(world) | {"Dora": adult(world, "Dora")}
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    rota.give(world.by, occurrences=turn(world, 1, "morning"), member_id=found["Ben"].member.pk)
    rota.give(world.by, occurrences=turn(world, 2, "evening"), member_id=found["Ada"].member.pk)
    return found


def turn(world: World, offset: int, round: str) -> list[Key]:
    """Return the occurrences of a round so many days from today."""
    return [key for key in rows(world) if key[1:] == (day(offset), round)]


def doing(world: World, offset: int, round: str) -> set[tuple[int, ...]]:
    """Return who does what of a round."""
    return {rows(world)[key] for key in turn(world, offset, round)}
