"""A job that takes as long as it is told, for workers that tests start with `--include`."""

import time
from pathlib import Path

from farm.dispatch import Job
from tasks.app import app


@app.task(base=Job, name="slow_trial")
def slow_trial(*, seconds, out):
    with Path(out).open("a") as file:
        file.write("begun\n")
    time.sleep(seconds)
    with Path(out).open("a") as file:
        file.write("done\n")
