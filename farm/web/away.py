"""What a page says while the farm's records can't be reached: one plain sentence, 503, and whether it was saved."""

from __future__ import annotations

import logging
import sqlite3
import sys

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.views import defaults

log = logging.getLogger(__name__)

RETRY_SECONDS = 5  # when a phone or a proxy may ask again; project default (judgement)
#: SQLite's own numbers (sqlite.org/rescode.html): what lies with the machine, not with our statements.
_SQLITE_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_SQLITE_FULL = {sqlite3.SQLITE_FULL}
_SQLITE_AWAY = {sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_NOMEM}
#: PostgreSQL's (Appendix A of its manual): waited too long or gave way to another, and out of disk.
_POSTGRES_BUSY = {"40001", "40P01", "55P03", "57014"}
_POSTGRES_FULL = {"53100"}


def page(request: HttpRequest, error: BaseException) -> HttpResponse | None:
    """Answer an error of a database that is busy, full or away; None for every other error, which is a slip of ours.

    Nothing here asks the database, not even who is signed in.
    """
    text = said(error)
    if text is None:
        return None
    log.warning("the database did not answer a request: %s", " ".join(str(error).split()))
    if request.content_type == "application/json":
        response: HttpResponse = JsonResponse({"text": text}, status=503)
    else:
        again = request.get_full_path() if request.method in ("GET", "HEAD") else ""
        response = HttpResponse(render_to_string("web/away.html", {"text": text, "again": again}), status=503)
    response.headers["Retry-After"] = str(RETRY_SECONDS)
    response.headers["Cache-Control"] = "private, no-store"
    response._has_been_logged = True  # type: ignore[attr-defined]  # above, in one line and without the address
    return response


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer what no view could: Django calls this while it handles the error, also for errors of the middleware."""
    error = sys.exc_info()[1]
    found = page(request, error) if error is not None else None
    return found or defaults.server_error(request)


def said(error: BaseException) -> str | None:
    """Return the sentence for an error of a database that is busy, full or away; None for every other error."""
    if not isinstance(error, OperationalError | InterfaceError):
        return None
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        return _of_sqlite(getattr(cause, "sqlite_errorcode", 0) & 0xFF)
    code = getattr(cause, "sqlstate", None)
    if code in _POSTGRES_BUSY:
        return _busy()
    return _full() if code in _POSTGRES_FULL else _away()


def _of_sqlite(code: int) -> str | None:
    if code in _SQLITE_BUSY:
        return _busy()
    if code in _SQLITE_FULL:
        return _full()
    return _away() if code in _SQLITE_AWAY else None


def _busy() -> str:
    return _("The farm's records are busy just now. Nothing was saved: try again in a moment.")


def _full() -> str:
    return _(
        "The disk this runs on is full. Nothing was saved. Whoever looks after the machine has to make room on it; "
        "until then everything can be read."
    )


def _away() -> str:
    # A connection lost at the very end may have saved: no promise here.
    return _(
        "The farm's records can't be reached just now. Try again in a moment, and look whether your last entry is "
        "there before you make it again."
    )
