"""Orders to work backwards from, on the small named farm: twenty day-old brown layers, a month ahead."""

from __future__ import annotations

from typing import Any

from farm.models import EggSet, Farm, Intake, Order, SettingProposal, Supplier
from farm.planning.ordering.codec import Content
from farm.queries import setting_proposals
from farm.services import proposals, suppliers
from farm.services.proposals import Edit
from tests.conftest import World
from tests.farm.egg_world import cabinet, day, on, refused
from tests.farm.orders_world import line, take

__all__ = [
    "Edit",
    "adopt",
    "adopt_refused",
    "cabinet",
    "chicks",
    "content",
    "day",
    "line",
    "made",
    "on",
    "propose",
    "seller",
    "take",
]


def chicks(world: World, first: int = 30, last: int = 32, **fields: Any) -> Order:
    """Take an order of day-olds, to be handed over on days `first` to `last`."""
    customer = fields.pop("customer", "Meadow Farm")
    ages = {"age_from_days": 0, "age_to_days": 3} | fields
    return take(world, line(from_on=day(first), to_on=day(last), **ages), customer=customer)


def seller(world: World, **fields: Any) -> Supplier:
    """Return a supplier of brown layers, any day from three days ahead."""
    usual = {"name": "Mill", "types": ["chicken_layer_brown"], "lead_days": 3, "minimum": 5}
    return suppliers.add(world.by, **usual | fields)


def propose(world: World) -> SettingProposal:
    return proposals.propose(world.by)


def content(proposal: SettingProposal) -> Content:
    return setting_proposals.content(proposal)


def made(farm: Farm) -> tuple[list[EggSet], list[Intake]]:
    """Return the egg sets and intakes of a farm, in the order they were made."""
    return list(EggSet.objects.filter(farm=farm).order_by("pk")), list(
        Intake.objects.filter(farm=farm).order_by("pk")
    )


def adopt(world: World, proposal: SettingProposal, **edits: Edit) -> None:
    proposals.adopt(
        world.by, code=proposal.code, edits={key.replace("_", "-"): e for key, e in edits.items()}
    )


def adopt_refused(world: World, proposal: SettingProposal, **edits: Edit) -> dict[str, list[str]]:
    named = {key.replace("_", "-"): edit for key, edit in edits.items()}
    return refused(proposals.adopt, world.by, code=proposal.code, edits=named)
