"""Changes tried for their consequences alone: carried out in full, looked at, and taken back unseen."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any

from django.db import transaction

from farm.models import Batch, Farm
from farm.queries import outlook
from farm.services import batches, programmes
from farm.services.actor import Actor


def run(by: Actor, change: Callable[[], object], batch_ids: Collection[int] = ()) -> outlook.Trial:
    """Return the farm's outlook before and after `change`, of which nothing is kept.

    batch_ids: the batches whose next steps are wanted. Raises what `change` raises.
    """
    farm = Farm.objects.get(pk=by.farm_id)
    with transaction.atomic():
        before = outlook.of(farm, by.today, batch_ids)
        change()
        after = outlook.of(farm, by.today, batch_ids)
        transaction.set_rollback(True)
    return outlook.Trial(before, after)


def move(by: Actor, *, batch_id: int, choice: str, expected_version: int | None) -> outlook.Trial:
    """Try a batch on another programme version. Raises Stale, BadInput, NotFound as `follow`."""

    def change() -> None:
        follow(by, batch_id=batch_id, choice=choice, expected_version=expected_version)

    return run(by, change, [batch_id])


def follow(by: Actor, *, batch_id: int, choice: str, expected_version: int | None) -> Batch:
    """Move a batch to the version that `choice` of `queries.programmes.versions_for` names.

    Raises Stale, BadInput, NotFound as `batches.use_programme`.
    """
    with transaction.atomic():
        version = programmes.take(by, choice=choice)
        return batches.use_programme(
            by, batch_id=batch_id, version_id=version.pk, expected_version=expected_version
        )


def edit(
    by: Actor,
    *,
    programme_id: int,
    content: Mapping[str, Any],
    expected_number: int,
    batch_ids: Collection[int],
) -> outlook.Trial:
    """Try a new version of an own programme with all of `batch_ids` moved to it. Raises as `programmes.edit`."""

    def change() -> None:
        edit_and_move(
            by,
            programme_id=programme_id,
            content=content,
            note="",
            expected_number=expected_number,
            batch_ids=batch_ids,
        )

    return run(by, change, batch_ids)


def edit_and_move(
    by: Actor,
    *,
    programme_id: int,
    content: Mapping[str, Any],
    note: str,
    expected_number: int,
    batch_ids: Collection[int],
) -> None:
    """Save a new version and move the chosen batches to it: all of it or nothing. Raises as `programmes.edit`."""
    with transaction.atomic():
        version = programmes.edit(
            by, programme_id=programme_id, content=content, note=note, expected_number=expected_number
        )
        for batch_id in batch_ids:
            batches.use_programme(by, batch_id=batch_id, version_id=version.pk, expected_version=None)
