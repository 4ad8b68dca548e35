"""ETag and If-Match: what somebody else changed meanwhile is never overwritten unseen (RFC 9110, 8.8.3 and 13.1.1).

An ETag is `"VERSION-DIGEST"`: the record's version, by which If-Match is judged, and a digest of the whole answer, by
which If-None-Match is: a batch of the same version may have fewer birds than yesterday. Without a version: `"DIGEST"`.
"""

from __future__ import annotations

import hashlib
import re
from typing import TypeVar

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response

from api.core.callers import ApiRequest
from api.core.problems import ApiError
from farm.models.owned import Versioned

Record = TypeVar("Record", bound=Versioned)
_TAG = re.compile(r'"(\d{1,18})-[0-9a-f]{16}"')


def show(request: ApiRequest, row: Record) -> Record:
    """Return the record, and have the answer's ETag carry its version."""
    request.shown_version = row.version
    return row


def expected(request: HttpRequest) -> int | None:
    """Return the version that If-Match names, None for `*`. Raises ApiError without one, or with one that no record
    has: a weak tag, or one of an answer without a version."""
    header = request.headers.get("If-Match", "").strip()
    if not header:
        raise ApiError("version-missing", "")
    if header == "*":
        return None
    found = _TAG.fullmatch(header)
    if found is None:
        raise ApiError("version-differs", "")
    return int(found[1])


def tagged(request: ApiRequest, response: HttpResponse) -> HttpResponseBase:
    """Return a successful answer with its ETag, or 304 when the caller has it already."""
    if not response.content:
        return response
    digest = hashlib.sha256(response.content).hexdigest()[:16]
    version = request.shown_version
    response["ETag"] = f'"{digest}"' if version is None else f'"{version}-{digest}"'
    response["Cache-Control"] = "private, no-cache"
    if request.method not in ("GET", "HEAD"):
        return response
    # If-Match on a read is nobody's business here.
    request.META.pop("HTTP_IF_MATCH", None)
    return get_conditional_response(request, etag=response["ETag"], response=response) or response
