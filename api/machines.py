"""Machines: incubators, setters and hatchers for eggs. Added, changed, taken out of use."""

from __future__ import annotations

from typing import Any, Literal

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, Whole, absent
from api.models import Scope
from farm.models import Machine
from farm.models.machine import Air, MachineWork
from farm.models.member import Role
from farm.queries import lookup
from farm.services import machines

router = Router(tags=["Machines"])

_FITS = "How many fit; 0: it does not take them."


class MachineOut(Schema):
    """A machine for eggs, and how many of each size fill it."""

    id: int
    version: int
    name: str
    whereabouts: str = Field(description="What has the same words stands together and is done in one go.")
    does: MachineWork
    air: Air
    small_eggs: int = Field(description=f"Quail eggs. {_FITS}")
    medium_eggs: int = Field(description=f"Eggs the size of a hen's. {_FITS}")
    large_eggs: int = Field(description=f"Duck or turkey eggs. {_FITS}")
    very_large_eggs: int = Field(description=f"Goose eggs. {_FITS}")
    species: list[str] = Field(description="Keys of species it is for; [] for all.")
    turns_itself: bool
    cleaning_days: int = Field(description="After a hatch.")
    in_service_from: Day | None
    in_service_to: Day | None = Field(description="First day it is out of use.")
    notes: str


class MachineChange(In):
    """What is to be different; what is left out stays. The open egg sets in it must still be possible."""

    name: Text = absent(max_length=60)
    whereabouts: Text = absent(max_length=40)
    does: MachineWork = absent()
    air: Air = absent()
    small_eggs: Whole = absent(description=_FITS)
    medium_eggs: Whole = absent(description=_FITS)
    large_eggs: Whole = absent(description=_FITS)
    very_large_eggs: Whole = absent(description=_FITS)
    species: list[Text] = absent(max_length=20)
    turns_itself: bool = absent()
    cleaning_days: Whole = absent()
    in_service_from: Day | None = None
    in_service_to: Day | None = None
    notes: Text = absent(max_length=2000)


class NewMachine(MachineChange):
    """A machine to add; eggs of one size at least must fit."""

    name: Text = Field(max_length=60)
    does: MachineWork


class Wanted(pages.Paging):
    """Which machines."""

    does: MachineWork | None = None
    order: Literal["id", "-id", "name", "-name"] = "name"


@router.get("/", response=Page[MachineOut])
@needs(Role.CHILD, Scope.READ)
def list_machines(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's machines."""
    rows = Machine.objects.filter(farm=request.caller.farm)
    rows = rows if query.does is None else rows.filter(does=query.does)
    return pages.of(rows, query, lambda machine: machine, order=query.order)


@router.post("/", response={201: MachineOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_machine(request: ApiRequest, new: NewMachine) -> Status:
    """Add a machine."""
    machine = machines.add(request.caller.by, **new.given())
    request.location = f"{request.path}{machine.pk}/"
    return Status(201, _whole(request, machine.pk))


@router.get("/{machine_id}/", response=MachineOut)
@needs(Role.CHILD, Scope.READ)
def get_machine(request: ApiRequest, machine_id: Id) -> Machine:
    """Return one machine."""
    return _whole(request, machine_id)


@router.patch("/{machine_id}/", response=MachineOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_machine(request: ApiRequest, machine_id: Id, change: MachineChange) -> Machine:
    """Change a machine."""
    version = versions.expected(request)
    machines.change(request.caller.by, machine_id=machine_id, expected_version=version, **change.given())
    return _whole(request, machine_id)


@router.delete("/{machine_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_machine(request: ApiRequest, machine_id: Id) -> Status:
    """Remove a machine that no egg set names; of another, set `in_service_to` instead."""
    version = versions.expected(request)
    machines.remove(request.caller.by, machine_id=machine_id, expected_version=version)
    return Status(204, None)


def _whole(request: ApiRequest, machine_id: int) -> Machine:
    return versions.show(request, lookup.get(Machine, farm_id=request.caller.farm.pk, pk=machine_id))
