"""Which rows are a farm's: every model with a path to it, whichever app it lives in.

No model of a farm keeps files beside the database; pictures are columns.
"""

from __future__ import annotations

from django.apps import apps
from django.db.models import ForeignKey, Model

from farm.models import Farm


def of_a_farm() -> dict[type[Model], str]:
    """Return each model whose rows belong to a farm, and how they name it (`farm_id`, `entry__farm_id` …).

    The farthest come first, so that each is still found by its path while those before it are already gone. The farm
    itself is not among them.
    """
    paths: dict[type[Model], str] = {}
    left = [model for model in apps.get_models(include_auto_created=True) if model is not Farm]
    while near := {model: path for model in left if (path := _path(model, paths))}:
        paths |= near
        left = [model for model in left if model not in near]
    return dict(reversed(paths.items()))


def _path(model: type[Model], known: dict[type[Model], str]) -> str:
    """Return how a model's rows name their farm, "" when they do not, or not yet.

    By a link of its own, else by a link that is never empty to a model that is known.
    """
    links = [field for field in model._meta.concrete_fields if isinstance(field, ForeignKey)]
    for link in links:
        if link.related_model is Farm:
            return link.attname
    for link in links:
        if not link.null and link.related_model in known:
            return f"{link.name}__{known[link.related_model]}"
    return ""
