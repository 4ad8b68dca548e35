"""Idempotency-Key: a write sent twice under one key is done once and answered the same way twice.

The key is claimed, the write done and its answer stored in one transaction. A second sender waits for the first one's
transaction at the unique key; after a crash neither the write nor the key is there. What is refused is not stored:
nothing was done, and the same key may be sent again with the mistake mended. Answers are kept sealed: some hold a
secret that is shown once.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase

from api.core.callers import ApiRequest
from api.core.problems import ApiError
from api.models import SentRequest
from farm.services.channels import sealing

HEADER = "Idempotency-Key"
KEPT_HOURS = 48  # how long an answer can be had again; project default (judgement)
_KEPT_HEADERS = ("Content-Type", "Location", "ETag")


def once(request: ApiRequest, run: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """Return the answer of `run`, or the stored one of the same key. Raises ApiError for a key used otherwise."""
    key = request.headers.get(HEADER, "")
    if request.method != "POST" or not key:
        return run()
    if len(key) > 200 or not key.isascii() or not key.isprintable():
        raise ApiError("bad-input", "An Idempotency-Key has at most 200 printable ASCII characters.")
    digest = _digest(request)
    return _stored(request, key, digest) or _claimed(request, key, digest, run)


def _claimed(
    request: ApiRequest, key: str, digest: str, run: Callable[[], HttpResponseBase]
) -> HttpResponseBase:
    caller = request.caller
    with transaction.atomic():
        try:
            with transaction.atomic():
                row = SentRequest.objects.create(
                    farm=caller.farm, member=caller.member, key=key, digest=digest, at=caller.by.now
                )
        except IntegrityError:
            pass  # the other one was first: its answer is there now
        else:
            reply = run()
            if isinstance(reply, HttpResponse) and reply.status_code < 300:
                row.status, row.sealed_body = reply.status_code, sealing.seal(reply.content.decode())
                row.headers = {name: reply[name] for name in _KEPT_HEADERS if name in reply}
                row.save()
            else:
                transaction.set_rollback(True)
            return reply
    found = _stored(request, key, digest)
    assert found is not None
    return found


def _stored(request: ApiRequest, key: str, digest: str) -> HttpResponse | None:
    caller = request.caller
    row = SentRequest.objects.filter(farm=caller.farm, member=caller.member, key=key).first()
    if row is None:
        return None
    if row.digest != digest:
        raise ApiError("key-used", "")
    return HttpResponse(
        sealing.open_sealed(row.sealed_body).encode(),
        status=row.status,
        headers=row.headers | {"Idempotency-Replayed": "true"},
    )


def _digest(request: ApiRequest) -> str:
    parts = (str(request.method), request.get_full_path(), hashlib.sha256(request.body).hexdigest())
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def forget(*, now: datetime) -> int:
    """Remove answers nobody will ask for again; return how many."""
    gone, _by_model = SentRequest.objects.filter(at__lt=now - timedelta(hours=KEPT_HOURS)).delete()
    return gone
