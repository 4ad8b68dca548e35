"""What goes wrong, as problem details (RFC 9457): one kind for each error of the farm, with the field it came from."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Mapping
from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.db import InterfaceError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from ninja import Field, Schema
from ninja.errors import AuthenticationError, HttpError, Throttled, ValidationError

from farm.errors import WHOLE_FORM, BadInput, NotAllowed, NotFound, Stale
from farm.web import away

log = logging.getLogger(__name__)
MEDIA_TYPE = "application/problem+json"


class Wrong(Schema):
    """One thing that is wrong with what was sent."""

    detail: str = Field(description="What is wrong and how to mend it, in words for people.")
    pointer: str | None = Field(None, description="JSON Pointer (RFC 6901) into the body, as a URI fragment.")
    parameter: str | None = Field(None, description="Name of the query, path or header parameter.")


class Problem(Schema):
    """What went wrong (RFC 9457). Nothing was saved."""

    type: str = Field(description="Address of the page that says what this kind of problem means.")
    title: str
    status: int
    detail: str
    errors: list[Wrong] = Field(default_factory=list, description="By field, where the fields are to blame.")
    changes: list[str] = Field(default_factory=list, description="What others changed since, newest last.")
    version: int | None = Field(None, description="Version of the record now, where it was changed since.")


#: Kind -> status, title, what a program should do. The page of problems is made from it.
KINDS: dict[str, tuple[int, Promise, Promise]] = {
    "unreadable": (400, gettext_lazy("The request can't be read"), gettext_lazy("Send JSON in UTF-8.")),
    "nobody": (
        401,
        gettext_lazy("Nobody is signed in"),
        gettext_lazy("Send a valid token as Authorization: Bearer fd_…"),
    ),
    "not-allowed": (
        403,
        gettext_lazy("Not allowed"),
        gettext_lazy("The member's role or the token's scopes do not allow it."),
    ),
    "not-found": (
        404,
        gettext_lazy("Not found"),
        gettext_lazy("There is no such thing on this farm; another farm's things are not found either."),
    ),
    "no-such-method": (
        405,
        gettext_lazy("No such method here"),
        gettext_lazy("The Allow header lists what this address takes."),
    ),
    "changed-since": (
        409,
        gettext_lazy("Changed by somebody else"),
        gettext_lazy("Read the record again, look at `changes`, and send once more."),
    ),
    "version-differs": (
        412,
        gettext_lazy("The version differs"),
        gettext_lazy("If-Match names an older version. Read again, look at `changes`, send once more."),
    ),
    "too-large": (413, gettext_lazy("Too large"), gettext_lazy("Send less at once.")),
    "bad-input": (
        422,
        gettext_lazy("This can't be right"),
        gettext_lazy("`errors` says which fields are to blame and how to mend them."),
    ),
    "key-used": (
        422,
        gettext_lazy("The key was used for something else"),
        gettext_lazy("Use a new Idempotency-Key for every new write."),
    ),
    "version-missing": (
        428,
        gettext_lazy("If-Match is missing"),
        gettext_lazy("Send the ETag you read as If-Match, or * to overwrite whatever is there."),
    ),
    "too-many": (
        429,
        gettext_lazy("Too many requests"),
        gettext_lazy("Wait as many seconds as Retry-After says."),
    ),
    "mishap": (
        500,
        gettext_lazy("A mishap of ours"),
        gettext_lazy("It is in the log. Sending again with the same Idempotency-Key is safe."),
    ),
    "busy": (
        503,
        gettext_lazy("Busy"),
        gettext_lazy("The database did not answer. Sending again with the same Idempotency-Key is safe."),
    ),
}


class ApiError(Exception):
    """A problem that only the API has. kind: of `KINDS`."""

    def __init__(self, kind: str, detail: str, **more: Any) -> None:
        super().__init__(detail)
        self.kind, self.detail, self.more = kind, detail, more


def at_parameter(parameter: str, text: str) -> ApiError:
    """Return the problem of one parameter of an address."""
    return ApiError("bad-input", text, errors=[_wrong(text, parameter=parameter)])


def answer(
    kind: str, detail: object = "", *, headers: Mapping[str, str] | None = None, **more: Any
) -> HttpResponse:
    """Return the response that tells of a problem."""
    status, title, advice = KINDS[kind]
    body = {
        "type": f"{settings.ADDRESS}/api/v1/problems/#{kind}",
        "title": str(title),
        "status": status,
        "detail": str(detail) or str(advice),
        "errors": [],
        "changes": [],
        "version": None,
    } | more
    return HttpResponse(json.dumps(body), status=status, content_type=MEDIA_TYPE, headers=dict(headers or {}))


def _bad_input(request: HttpRequest, refused: BadInput) -> HttpResponse:
    errors = [
        _wrong(str(text), pointer="#" if name == WHOLE_FORM else f"#/{name}")
        for name, texts in refused.fields.items()
        for text in texts
    ]
    return answer("bad-input", "; ".join(error["detail"] for error in errors), errors=errors)


def _invalid(request: HttpRequest, refused: ValidationError) -> HttpResponse:
    errors = [_located(error) for error in refused.errors]
    return answer("bad-input", "; ".join(error["detail"] for error in errors[:5]), errors=errors)


def _located(error: Mapping[str, Any]) -> dict[str, Any]:
    """Return one of pydantic's errors; its place is ("body", OUR ARGUMENT, "birds") or ("query", …, "limit")."""
    source, *path = error["loc"]
    text = str(error["msg"])
    if source in ("body", "form", "file"):
        return _wrong(text, pointer="#" + "".join(f"/{_escaped(str(step))}" for step in path[1:]))
    return _wrong(text, parameter=str(path[-1]) if path else "")


def _escaped(step: str) -> str:
    return step.replace("~", "~0").replace("/", "~1")


def _wrong(detail: str, pointer: str | None = None, parameter: str | None = None) -> dict[str, Any]:
    return {"detail": detail, "pointer": pointer, "parameter": parameter}


def _stale(request: HttpRequest, refused: Stale) -> HttpResponse:
    kind = "version-differs" if "If-Match" in request.headers else "changed-since"
    return answer(kind, refused, changes=refused.changes, version=refused.version)


def _http(request: HttpRequest, refused: HttpError) -> HttpResponse:
    kind = next(
        (kind for kind, (status, *_rest) in KINDS.items() if status == refused.status_code), "unreadable"
    )
    return answer(kind, refused.message)


def _mishap(request: HttpRequest, error: Exception) -> HttpResponse:
    log.exception("%s %s failed", request.method, request.resolver_match and request.resolver_match.route)
    return answer("mishap")


def _busy(request: HttpRequest, error: Exception) -> HttpResponse:
    text = away.said(error)
    if text is None:
        return _mishap(request, error)
    log.warning("the database did not answer: %s", error)
    return answer("busy", text, headers={"Retry-After": str(away.RETRY_SECONDS)})


HANDLERS: dict[type[Exception], Callable[[HttpRequest, Any], HttpResponse]] = {
    ApiError: lambda request, error: answer(error.kind, error.detail, **error.more),
    BadInput: _bad_input,
    NotAllowed: lambda request, error: answer("not-allowed", error),
    NotFound: lambda request, error: answer("not-found", error),
    Http404: lambda request, error: answer("not-found"),
    Stale: _stale,
    ValidationError: _invalid,
    AuthenticationError: lambda request, error: answer(
        "nobody", error.message, headers={"WWW-Authenticate": 'Bearer realm="Featherdays"'}
    ),
    Throttled: lambda request, error: answer(
        "too-many",
        _("Wait %(seconds)d seconds.") % {"seconds": error.wait or 1},
        headers={"Retry-After": str(error.wait or 1)},
    ),
    HttpError: _http,
    RequestDataTooBig: lambda request, error: answer("too-large"),
    OperationalError: _busy,
    InterfaceError: _busy,
    Exception: _mishap,
}
