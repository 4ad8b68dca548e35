"""The one Celery app: `celery -A tasks.app worker`."""

from __future__ import annotations

import os

from celery import Celery
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")
TRANSPORT_ALIASES |= {
    "spool": "tasks.spool:Transport",
    "redis": "tasks.steady_redis:Transport",
    "rediss": "tasks.steady_redis:Transport",
}

app = Celery("featherdays")
app.config_from_object("django.conf:settings", namespace="CELERY")
# The current app is what `farm.dispatch` asks, in every thread, without importing this package.
app.set_default()
