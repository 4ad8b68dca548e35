"""Each housing as it should be on a day: warmth, room, and what to look for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from farm.models import Batch, Farm
from farm.phrase import Phrase
from farm.planning.window import Window
from farm.queries import occupancy
from farm.queries.occupancy import Sheet
from farm.trade import behaviours
from farm.trade.behaviours import Behaviour
from farm.web.housing import rooms
from farm.web.housing.rooms import Lodger, Today

AHEAD_DAYS = 60  # how far ahead shortfalls are told of; project default (judgement)


@dataclass(frozen=True, slots=True)
class Card:
    """A housing with birds in it, or that will be too small. warm: the batch whose warmth it should have, None where no
    heat is needed.

    look_for: what the birds may show. breaches: what will not fit here, by its first day.
    """

    room: Today
    warm: Lodger | None
    look_for: Sequence[Behaviour]
    breaches: Sequence[Phrase]


@dataclass(frozen=True, slots=True)
class Cards:
    """The housing of a farm on a day.

    cards: with birds or breaches ahead. empty: the others. homeless: what is said of birds without housing.
    """

    cards: Sequence[Card]
    empty: Sequence[Today]
    homeless: Sequence[tuple[Phrase, Sequence[Batch]]]


def of_day(farm: Farm, day: date, today: date) -> Cards:
    """Return the farm's housing on `day`, in the farm's order."""
    sheet = occupancy.for_farm(farm, Window(day, AHEAD_DAYS), today)
    found = rooms.by_room(list(sheet.housings.values()), sheet, day)
    cards = [_card(room, sheet) for room in found]
    return Cards(
        cards=[card for card in cards if card.room.lodgers or card.breaches],
        empty=[card.room for card in cards if not card.room.lodgers and not card.breaches],
        homeless=[
            (sheet.sentence(breach), [sheet.batches[key] for key in breach.groups])
            for breach in sheet.breaches
            if breach.room is None
        ],
    )


def _card(room: Today, sheet: Sheet) -> Card:
    key = str(room.housing.pk)
    heated = [lodger for lodger in room.lodgers if lodger.target_temp_c is not None]
    warm = max(heated, key=lambda lodger: lodger.target_temp_c or 0.0, default=None)
    return Card(
        room=room,
        warm=warm,
        look_for=look_for({lodger.batch.species for lodger in heated}),
        breaches=[sheet.sentence(breach) for breach in sheet.breaches if breach.room == key],
    )


def look_for(species: set[str]) -> list[Behaviour]:
    """Return what birds of these species may show about their warmth; nothing where none need any."""
    if not species:
        return []
    return [one for one in behaviours.behaviours().values() if one.species in (None, *species)]
