"""The door every request passes: who asks, how often, in which zone, once, and with which version of what."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from functools import wraps
from typing import Any, get_type_hints

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from api.core import callers, keys, problems, throttle, versions
from api.core.callers import ApiRequest

View = Callable[..., Any]
#: Once through the door, `door` knows what to do with an error that escapes: the API's own handlers.
OnError = Callable[[HttpRequest, Exception], HttpResponse]


def needs(role: str, scope: str, *, versioned: bool = False, outward: bool = False) -> Callable[[View], View]:
    """Let in members of at least `role`, and of tokens only those with `scope`. Stands under the router's decorator.

    versioned: the view asks `versions.expected` for If-Match; the schema then says so. outward: the view sends
    something out and waits for it, which must not happen inside a transaction; it takes no Idempotency-Key.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        def let_in(request: ApiRequest, *args: Any, **kwargs: Any) -> Any:
            request.caller.require(role, scope)
            return view(request, *args, **kwargs)

        let_in.__signature__ = _resolved(view)  # type: ignore[attr-defined]
        # Read by the schema and the isolation sweep.
        let_in.api_role, let_in.api_scope = role, scope  # type: ignore[attr-defined]
        let_in.api_versioned, let_in.api_outward = versioned, outward  # type: ignore[attr-defined]
        return let_in

    return wrap


def _resolved(view: View) -> inspect.Signature:
    """Return a view's signature with its annotations resolved where they were written, not here."""
    hints = get_type_hints(view, include_extras=True)
    signature = inspect.signature(view)
    parameters = [
        one.replace(annotation=hints.get(name, one.annotation)) for name, one in signature.parameters.items()
    ]
    return signature.replace(parameters=parameters)


def through(on_error: OnError) -> Callable[[View], View]:
    """Return the decorator of every operation."""

    def wrap(run: View) -> View:
        outward = run.__self__.view_func.api_outward  # type: ignore[attr-defined]  # `run` is an operation's

        @wraps(run)
        def inner(request: ApiRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            try:
                return _pass(request, lambda: run(request, *args, **kwargs), once=not outward)
            except Exception as error:
                return on_error(request, error)

        return inner

    return wrap


def _pass(request: ApiRequest, run: Callable[[], HttpResponseBase], *, once: bool) -> HttpResponseBase:
    request.caller = caller = callers.of(request)
    request.shown_version, request.location = None, ""
    throttle.spend(caller)

    def answered() -> HttpResponseBase:
        reply = run()
        if not isinstance(reply, HttpResponse) or not 200 <= reply.status_code < 300:
            return reply
        if request.location:
            reply["Location"] = request.location
        return versions.tagged(request, reply)

    with callers.clock_of(caller):
        reply = keys.once(request, answered) if once else answered()
    reply["Vary"] = "Authorization, Cookie"
    return reply


def whole(view: View) -> View:
    """Let HEAD in where GET is, and say plainly which methods an address takes."""

    @wraps(view)
    def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method == "HEAD":
            request.method = "GET"
        reply = view(request, *args, **kwargs)
        if reply.status_code == 405 and reply.get("Content-Type") != problems.MEDIA_TYPE:
            return problems.answer("no-such-method", headers={"Allow": reply["Allow"]})
        return reply

    page.csrf_exempt = True  # type: ignore[attr-defined]  # sessions are asked for it by `callers`
    return page
