"""Suppliers: those who sell chicks."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, In, Text, absent
from api.models import Scope
from farm.models import Supplier
from farm.models.member import Role
from farm.queries import lookup
from farm.services import suppliers

router = Router(tags=["Hatching"])

Type = Annotated[Text, Field(max_length=40)]
Weekday = Annotated[int, Field(ge=0, le=6)]
_TYPES = "Keys of built-in programmes, or numbers of the farm's own as text."
_WEEKDAYS = "Days chicks come, Monday is 0; empty for any."


class SupplierOut(Schema):
    """Where chicks can be bought."""

    id: int
    version: int
    name: str
    types: list[str] = Field(description=_TYPES)
    weekdays: list[int] = Field(description=_WEEKDAYS)
    minimum: int = Field(description="The least chicks of one order.")
    lead_days: int = Field(description="From ordering to arrival.")
    hours_on_the_way: int = Field(description="From hatch to arrival, usually.")
    sexed: bool
    notes: str


class NewSupplier(In):
    """A supplier to add."""

    name: Text = Field(max_length=80)
    types: list[Type] = Field(default_factory=list, max_length=60, description=_TYPES)
    weekdays: list[Weekday] = Field(default_factory=list, max_length=7, description=_WEEKDAYS)
    minimum: int = Field(1, ge=1, le=5000)
    lead_days: int = Field(14, ge=0, le=365)
    hours_on_the_way: int = Field(36, ge=0, le=96)
    sexed: bool = False
    notes: Text = Field("", max_length=2000)


class SupplierChange(In):
    """What is to be different; what is left out stays."""

    name: Text = absent(max_length=80)
    types: list[Type] = absent(max_length=60, description=_TYPES)
    weekdays: list[Weekday] = absent(max_length=7, description=_WEEKDAYS)
    minimum: int = absent(ge=1, le=5000)
    lead_days: int = absent(ge=0, le=365)
    hours_on_the_way: int = absent(ge=0, le=96)
    sexed: bool = absent()
    notes: Text = absent(max_length=2000)


class Wanted(pages.Paging):
    """Which suppliers."""

    order: Literal["id", "-id", "name", "-name"] = "name"


@router.get("/", response=Page[SupplierOut])
@needs(Role.CHILD, Scope.READ)
def list_suppliers(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List those who sell chicks, by name."""
    rows = Supplier.objects.filter(farm=request.caller.farm)
    return pages.of(rows, query, lambda supplier: supplier, order=query.order)


@router.post("/", response={201: SupplierOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_supplier(request: ApiRequest, new: NewSupplier) -> Status:
    """Add a supplier."""
    supplier = suppliers.add(request.caller.by, **new.dict())
    request.location = f"{request.path}{supplier.pk}/"
    return Status(201, versions.show(request, supplier))


@router.get("/{supplier_id}/", response=SupplierOut)
@needs(Role.CHILD, Scope.READ)
def get_supplier(request: ApiRequest, supplier_id: Id) -> Supplier:
    """Return one supplier."""
    return _whole(request, supplier_id)


@router.patch("/{supplier_id}/", response=SupplierOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_supplier(request: ApiRequest, supplier_id: Id, change: SupplierChange) -> Supplier:
    """Change a supplier."""
    version = versions.expected(request)
    suppliers.change(request.caller.by, supplier_id=supplier_id, expected_version=version, **change.given())
    return _whole(request, supplier_id)


@router.delete("/{supplier_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_supplier(request: ApiRequest, supplier_id: Id) -> Status:
    """Remove a supplier that no intake names."""
    version = versions.expected(request)
    suppliers.remove(request.caller.by, supplier_id=supplier_id, expected_version=version)
    return Status(204, None)


def _whole(request: ApiRequest, supplier_id: int) -> Supplier:
    return versions.show(request, lookup.get(Supplier, farm_id=request.caller.farm.pk, pk=supplier_id))
