"""The project's settings with little patience, on a slow disk."""

from tests.faults.hasty import *  # noqa: F403
from tests.faults.hasty import DATABASES

DATABASES["default"]["ENGINE"] = "tests.faults.slow_sqlite"
