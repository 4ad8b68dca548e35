"""Steps of orders: birds to be handed over, one step a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from farm.phrase import N_, Phrase
from farm.planning.agenda.building import Builder
from farm.planning.agenda.homes import DAY, Home, Homes
from farm.planning.agenda.records import Item


@dataclass(frozen=True, slots=True)
class AgendaHandOver:
    """What is still to be handed over for one line of an order.

    key: stable, without "/". name: "40 birds to Meadow Farm: Brown layer chicken". birds: still to go. from_on, to_on:
    first day it can be done and last day promised, both included. batch: key of the one batch the birds are meant to
    come from; None for none or several.
    """

    key: str
    name: Phrase
    birds: int
    from_on: date
    to_on: date
    batch: str | None = None


def steps(hand_overs: Sequence[AgendaHandOver], homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield one step a hand-over, in the housing its birds are in where that is one.

    It stays open until the birds are handed over: a promise does not end with its last day.
    """
    for hand_over in hand_overs:
        batch = homes.batches.get(hand_over.batch or "")
        due = min(hand_over.from_on, hand_over.to_on)
        home = _home(homes, hand_over, due)
        item = build.step(
            "hand_over",
            f"line:{hand_over.key}/hand_over",
            due,
            home or Home("", "", hand_over.birds, True, False, True),
            Phrase(N_("Hand over %(name)s"), {"name": hand_over.name}),
            Phrase(
                N_(
                    "Promised from %(first)s to %(last)s. Record it with the order, so that counts stay right."
                ),
                {"first": hand_over.from_on, "last": hand_over.to_on},
            ),
            batch=batch,
            birds=hand_over.birds,
            until=hand_over.to_on + DAY,
        )
        yield replace(item, room=home.room if home else None, open_ended=True)


def _home(homes: Homes, hand_over: AgendaHandOver, day: date) -> Home | None:
    """Return the housing of the batch on the day; None where it has none or several, or the batch is not known."""
    if hand_over.batch not in homes.batches:
        return None
    found = homes.of(hand_over.batch, day)
    return found[0] if len(found) == 1 else None
