"""What lies in the in-machine broker of this test process."""

import base64
import json
import shutil
from pathlib import Path

import pytest
from django.conf import settings

from tests.faults.servers import redis_server
from tests.tasks.running import processes_on


@pytest.fixture
def spool():
    """The broker's folder, empty at the beginning and at the end of each test."""
    folder = Path(settings.DATA) / "broker"
    shutil.rmtree(folder / "messages", ignore_errors=True)
    (folder / "messages").mkdir(parents=True)
    yield folder
    shutil.rmtree(folder / "messages", ignore_errors=True)


@pytest.fixture
def sent(spool):
    """Return a function that lists the waiting jobs, oldest first, as (name, kwargs)."""

    def read():
        found = []
        for path in sorted((spool / "messages").glob("*.msg")):
            message = json.loads(path.read_text())
            _args, kwargs, _options = json.loads(base64.b64decode(message["body"]))
            found.append((message["headers"]["task"], kwargs))
        return found

    return read


@pytest.fixture
def machine(tmp_path):
    """A function that starts a command on a data folder of its own, with `run` and `log` beside it."""
    with processes_on(tmp_path) as start:
        yield start


@pytest.fixture
def own_redis(tmp_path):
    """A Redis of the test's own: other tests empty the common one, and their workers would take its jobs."""
    with redis_server(tmp_path) as server:
        yield server
