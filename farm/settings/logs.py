"""Log lines as text or as JSON, secrets blotted out in both, and what a line belongs to: one request or one job."""

from __future__ import annotations

import json
import logging
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

from farm.settings.redact import redact

FORMATS = ("line", "json")

#: The number of the request or job this thread works on; "" for none.
request_id: ContextVar[str] = ContextVar("request_id", default="")
job_id: ContextVar[str] = ContextVar("job_id", default="")
job_name: ContextVar[str] = ContextVar("job_name", default="")

#: What a line may carry beyond its words: the names given as `extra=`, in the order they are written.
FIELDS = ("route", "method", "status", "ms", "farm", "outcome")


class JsonFormatter(logging.Formatter):
    """One JSON object a line: time (UTC), level, logger, message, and what is known of request, job and traceback."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line. Texts are redacted before they are quoted, so that it stays JSON."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            "request": request_id.get(),
            "job": job_name.get(),
            "job_id": job_id.get(),
        }
        line |= {name: getattr(record, name) for name in FIELDS if getattr(record, name, None) is not None}
        if record.exc_info:
            line["traceback"] = self.formatException(record.exc_info)
        if record.stack_info:
            line["stack"] = self.formatStack(record.stack_info)
        known = {name: redact(value) if isinstance(value, str) else value for name, value in line.items()}
        return json.dumps({name: value for name, value in known.items() if value != ""}, ensure_ascii=False)


def formatter(name: str) -> dict[str, str]:
    """Return the entry of Django's LOGGING for a format of FORMATS."""
    if name == "json":
        return {"()": "farm.settings.logs.JsonFormatter"}
    return {
        "()": "farm.settings.redact.RedactingFormatter",
        "format": "%(asctime)s %(levelname)s %(name)s: %(message)s",
    }
