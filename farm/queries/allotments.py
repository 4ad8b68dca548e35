"""Which birds are meant for which line, as pages, steps and hand-overs read it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache

from farm.models import Batch, Farm, Order, OrderingRules, OrderLine
from farm.planning import allotments as planning
from farm.planning.allotments import Allotment, LineOdds, Share, SpareOdds, Supply, Wanted
from farm.queries import supplies as read
from farm.trade.general import figure

#: Farms and states of farms whose allotment is remembered by a process.
_MOST_REMEMBERED = 32


@dataclass(frozen=True)
class FarmAllotment:
    """An allotment with the batches and lines it is about, by number."""

    supplies: Mapping[int, Supply]
    wanted: Mapping[int, Wanted]
    allotment: Allotment

    def odds(self, line_id: int) -> LineOdds | None:
        """Return how a line stands; None for one that wants no birds: full, a quote, cancelled."""
        return self.allotment.lines.get(str(line_id))

    def shares(self, line_id: int) -> tuple[Share, ...]:
        """Return which batches a line is meant to get its birds from."""
        return self._by_line.get(str(line_id), ())

    def promised(self, batch_id: int) -> int:
        """Return how many birds of a batch are meant for orders."""
        return sum(share.birds for share in self.allotment.shares if share.supply == str(batch_id))

    def spare(self, batch_id: int) -> SpareOdds | None:
        """Return what a batch has over; None for one without birds."""
        return self.allotment.spare.get(str(batch_id))

    @cached_property
    def _by_line(self) -> Mapping[str, tuple[Share, ...]]:
        found: dict[str, tuple[Share, ...]] = {}
        for share in self.allotment.shares:
            found[share.wanted] = (*found.get(share.wanted, ()), share)
        return found


def for_farm(farm: Farm, today: date, also: Order | None = None) -> FarmAllotment:
    """Return the farm's allotment on a day. Rows are read anew; a state seen before is not worked out again.

    also: a quote, to see what would come of it, and of the others, if it were confirmed.
    """
    stock, lines = read.supplies(farm, today), read.wanted(farm, also)
    return FarmAllotment(
        supplies={int(supply.key): supply for supply in stock},
        wanted={int(line.key): line for line in lines},
        allotment=_allot(_Question(stock, lines, today, confidence(farm))),
    )


def trial(farm: Farm, today: date, lines: Sequence[Wanted], without: Collection[int] = ()) -> FarmAllotment:
    """Return the allotment as it would be with lines only thought of. without: numbers of lines they stand in for."""
    stock = read.supplies(farm, today)
    there = tuple(line for line in read.wanted(farm) if int(line.key) not in without)
    return FarmAllotment(
        supplies={int(supply.key): supply for supply in stock},
        wanted={int(line.key): line for line in there},
        allotment=_allot(_Question(stock, (*there, *lines), today, confidence(farm))),
    )


def confidence(farm: Farm) -> float:
    """Return how sure the farm wants an order to be met."""
    rules = OrderingRules.objects.filter(farm=farm).first()
    return rules.confidence if rules else figure("losses", "order_confidence")


def free_birds(line: OrderLine, batch: Batch, today: date) -> int:
    """Return how many birds of `batch` may go to `line` today: not those held, nor those meant for lines before it."""
    found = for_farm(line.farm, today)
    if batch.pk not in found.supplies:
        return 0
    return planning.free_birds(found.allotment, str(batch.pk), str(line.pk), today)


@dataclass(frozen=True)
class _Question:
    """What an allotment hangs on. Programmes cannot be hashed; what else there is tells questions apart well enough."""

    stock: tuple[Supply, ...]
    lines: tuple[Wanted, ...]
    today: date
    confidence: float

    def __hash__(self) -> int:
        batches = tuple((supply.key, supply.hatch_day, supply.law) for supply in self.stock)
        return hash((batches, self.lines, self.today, self.confidence))


@lru_cache(maxsize=_MOST_REMEMBERED)
def _allot(question: _Question) -> Allotment:
    return planning.allot(question.stock, question.lines, question.today, question.confidence)
