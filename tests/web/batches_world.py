"""What the tests of the batch pages share."""

from __future__ import annotations

from typing import Any

from farm.models import Batch, CountEntry, HistoryEntry, Stay


def counted() -> tuple[int, ...]:
    """Return how many records of what batch pages write there are."""
    return tuple(model.objects.count() for model in (Batch, CountEntry, Stay, HistoryEntry))


def errors(answer: Any) -> dict[str, list[str]]:
    """Return what the page's form refuses, by field; "" for what stands above it."""
    return {
        "" if name == "__all__" else name: list(texts)
        for name, texts in answer.context["form"].errors.items()
    }


def text(answer: Any) -> str:
    """Return the page with all white space as one blank."""
    return " ".join(answer.content.decode().split())
