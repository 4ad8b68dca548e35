"""Fair shares: everybody's part, what they did, what they are given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.queries import rota as reads
from farm.queries.rota import FairRow
from farm.web.access import FarmRequest, farm_page
from farm.web.rota.badges import Badge, badges

BAR = 300  # how long the longest bar is drawn


@dataclass(frozen=True, slots=True)
class Bar:
    """One member's bar: where done ends, where planned ends, and where the mark of their part stands."""

    row: FairRow
    badge: Badge
    done: int
    planned: int
    target: int

    @property
    def part(self) -> int:
        """Return their part in whole minutes."""
        return round(self.row.target)

    @property
    def more(self) -> int:
        """Return whole minutes above their part, 0 when they are within it."""
        return max(0, round(self.row.off))

    @property
    def less(self) -> int:
        """Return whole minutes below their part, 0 when they reach it."""
        return max(0, -round(self.row.off))

    @property
    def width(self) -> int:
        """Return how long the planned part is drawn."""
        return self.planned - self.done


@require_safe
@farm_page()
def page(request: FarmRequest) -> HttpResponse:
    """Show everybody's minutes over the days that are evened out."""
    farm = request.visit.farm
    rows = reads.fairness(farm, request.visit.by.today)
    context = {"rules": reads.rules(farm), "bars": bars(rows), "length": BAR}
    return render(request, "web/rota/fairness.html", context)


def bars(rows: Sequence[FairRow]) -> list[Bar]:
    """Return the rows as bars of one scale."""
    longest = max((max(row.target, row.done + row.planned) for row in rows), default=0) or 1
    marks = badges(row.member for row in rows)

    def scaled(minutes: float) -> int:
        return round(BAR * minutes / longest)

    return [
        Bar(
            row,
            marks[row.member.pk],
            done=scaled(row.done),
            planned=scaled(row.done + row.planned),
            target=scaled(row.target),
        )
        for row in rows
    ]
