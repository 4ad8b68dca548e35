"""What the tests of the hatching pages share."""

from __future__ import annotations

import re
from typing import Any

from farm.models import Batch, EggEntry, EggSet, HistoryEntry, Intake, Machine, Supplier
from tests.farm.egg_world import at, cabinet, chicks_from, day, on, put_in
from tests.web.batches_world import errors

__all__ = ["at", "cabinet", "chicks_from", "day", "errors", "on", "put_in", "said", "written"]


def written() -> tuple[int, ...]:
    """Return how many records of what these pages write there are."""
    kinds = (Batch, EggEntry, EggSet, HistoryEntry, Intake, Machine, Supplier)
    return tuple(kind.objects.count() for kind in kinds)


def said(answer: Any) -> str:
    """Return what the page says, without tags and without what only a screen reader is told; blanks as one."""
    html = re.sub(r"<(head|script)\b.*?</\1>", " ", answer.content.decode(), flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())
