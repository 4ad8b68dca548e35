"""Days to wait after a medicine, as the keeper typed them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.husbandry.feeding.waiting import Wait, holding
from farm.models import Batch, WaitingTime


@dataclass(frozen=True, slots=True)
class Row:
    """One waiting time: from when its product may be eaten again, and whether it binds on the day that was asked."""

    wait: WaitingTime
    allowed_on: date
    binds: bool


def of(batch: Batch) -> list[Wait]:
    """Return the waits of a batch as the pure parts know them."""
    return [_wait(row) for row in batch.waits.all()]


def rows(batch: Batch, today: date) -> list[Row]:
    """Return the waiting times of a batch, those that end last first."""
    found = [(row, _wait(row)) for row in batch.waits.all()]
    shown = [
        Row(
            row,
            wait.first_allowed,
            binds=holding([wait], batch.pk, wait.product, today) is not None,
        )
        for row, wait in found
    ]
    return sorted(shown, key=lambda each: (each.allowed_on, each.wait.pk), reverse=True)


def _wait(row: WaitingTime) -> Wait:
    return Wait(row.batch_id, row.given_on, row.days, row.product)
