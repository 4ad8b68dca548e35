"""How tests see what a service refused: what it said, and that nothing was saved."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.apps import apps

from farm.errors import BadInput
from farm.models import Farm, HistoryEntry
from tests.conftest import TODAY


def day(offset: int) -> date:
    """Return the day `offset` days from TODAY."""
    return TODAY + timedelta(days=offset)


def everything() -> dict[str, list[dict[str, Any]]]:
    """Return every row of every record of the farm's models."""
    models = apps.get_app_config("farm").get_models()
    return {model.__name__: list(model._default_manager.order_by("pk").values()) for model in models}


def refused(act: Callable[[], object]) -> dict[str, list[str]]:
    """Return what BadInput says by field, having checked that nothing at all was saved."""
    before = everything()
    with pytest.raises(BadInput) as caught:
        act()
    assert everything() == before
    return {name: [str(text) for text in texts] for name, texts in caught.value.fields.items()}


def newest() -> HistoryEntry:
    """Return the last history entry."""
    return HistoryEntry.objects.order_by("-pk")[0]


def version(farm: Farm) -> int:
    """Return the farm's version as it stands in the database."""
    return Farm.objects.get(pk=farm.pk).version
