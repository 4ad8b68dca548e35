"""What a page does when a service refuses: field errors in forms, plain pages for the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from farm.errors import BadInput, FarmError, NotAllowed, NotFound, Stale
from farm.web import away
from farm.web.forms import VersionedForm


@contextmanager
def shown_in(form: forms.Form) -> Iterator[None]:
    """Put what a service refuses beside the fields of `form`; afterwards `form.is_valid()` is false.

    A field the form does not have, and a stale form's list of changes, go above the form.
    """
    try:
        yield
    except BadInput as refused:
        for name, texts in refused.fields.items():
            place = name if name in form.fields else None
            for text in texts:
                form.add_error(place, str(text))
    except Stale as refused:
        form.add_error(None, str(refused))
        for line in refused.changes:
            form.add_error(None, line)
        if isinstance(form, VersionedForm) and refused.version is not None:
            form.see_again(refused.version)


class MishapMiddleware:
    """Turns the farm's errors that no view caught into plain pages: 404, 403, 409, 422, and 503 where its records
    can't be reached.
    """

    _STATUS = ((NotFound, 404), (NotAllowed, 403), (Stale, 409), (BadInput, 422))

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass the request on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer a FarmError, or a database that is away, with its page; leave every other error to Django."""
        if not isinstance(error, FarmError):
            return away.page(request, error)
        status = next(code for kind, code in self._STATUS if isinstance(error, kind))
        context = {"message": str(error), "changes": getattr(error, "changes", [])}
        return render(request, "web/mishap.html", context, status=status)
