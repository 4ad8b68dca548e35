"""The background job that backs up, where the settings name a folder for it."""

from __future__ import annotations

from farm.dispatch import Job
from farm.web import clock
from tasks.app import app


@app.task(base=Job, name="back_up")
def back_up() -> None:
    """Make a backup when the last good one is a day old, then remove those that are not kept any longer."""
    from farm.services import backups

    backups.make_if_due(now=clock.now())
