"""The project's settings with little patience: what waits twenty seconds for a lock waits one here."""

from farm.settings import *  # noqa: F403
from farm.settings import DATABASES

DATABASES["default"]["OPTIONS"]["timeout"] = 1.0
