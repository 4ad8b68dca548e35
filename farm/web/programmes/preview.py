"""What a change of programme does to batches: the steps that go and those that come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from farm.models import Batch
from farm.queries.outlook import Step, Trial


@dataclass(frozen=True, slots=True)
class BatchChange:
    """The next steps of one batch that would no longer come like this, and those that would come instead."""

    batch: Batch
    gone: tuple[Step, ...]
    new: tuple[Step, ...]


def step_changes(trial: Trial, batches: Sequence[Batch]) -> list[BatchChange]:
    """Return, for each batch, how its next steps differ."""
    found = []
    for batch in batches:
        before, after = trial.before.steps.get(batch.pk, ()), trial.after.steps.get(batch.pk, ())
        was, will = {_key(step) for step in before}, {_key(step) for step in after}
        found.append(
            BatchChange(
                batch,
                gone=tuple(step for step in before if _key(step) not in will),
                new=tuple(step for step in after if _key(step) not in was),
            )
        )
    return found


def _key(step: Step) -> tuple[object, str]:
    return step.due, str(step.title)
