"""What a phone or a plain form sends, as things to write down. What can't be read is left empty and refused singly."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.services import photos
from farm.services.offline import Sent

MOST_BYTES = 512 * 1024  # of what is sent besides a picture; project default (judgement)
#: The texts of one thing, and how much of each is read: what its column holds, one more where that must be noticed.
_TEXTS = {"key": 65, "kind": 10, "source": 120, "round": 8, "title": 200, "proof": 64, "note": 500}
_MOST_NUMBER = 2**53


class TooLarge(BadInput):
    """More bytes than a phone ever has to say."""


def of_request(request: HttpRequest) -> tuple[str, list[Sent]]:
    """Return whose queue was sent and its things: JSON, or a form with JSON in `sent` and a picture in `photo`.

    Raises TooLarge, and BadInput for what is no such thing.
    """
    _check_size(request)
    if request.content_type == "application/json":
        return _of_json(request.body)
    who, sent = _of_json(request.POST.get("sent", "").encode("utf-8", "replace"))
    photo = _photo(request)
    if photo and len(sent) != 1:
        raise BadInput.at("", _("Send one picture at a time."))
    return who, [replace(sent[0], photo=photo)] if photo else sent


def of_form(request: HttpRequest) -> Sent:
    """Return the one thing of a plain form. Raises TooLarge."""
    _check_size(request)
    typed: dict[str, Any] = request.POST.dict()
    for name in ("minutes", "batch", "housing", "birds"):
        text = str(typed.get(name, ""))
        typed[name] = int(text) if text.isdecimal() and len(text) < 16 else 0
    # The button decides: the same form sent again after another was pressed is another thing.
    typed["key"] = f"{typed.get('key', '')}-{typed.get('kind', '')}"
    typed.pop("at", None)
    return _read(typed, _photo(request))


def _check_size(request: HttpRequest) -> None:
    text = request.META.get("CONTENT_LENGTH") or "0"
    length = int(text) if text.isdecimal() else 0
    most = MOST_BYTES if request.content_type == "application/json" else MOST_BYTES + photos.MOST_BYTES
    if length > most:
        raise TooLarge.at("", _("This is too large to be sent."))


def _photo(request: HttpRequest) -> bytes:
    file = request.FILES.get("photo")
    return file.read(photos.MOST_BYTES + 1) if file is not None and not isinstance(file, list) else b""


def _of_json(body: bytes) -> tuple[str, list[Sent]]:
    try:
        read = json.loads(body)
    except (ValueError, RecursionError) as unreadable:
        raise BadInput.at("", _("This could not be read.")) from unreadable
    items = read.get("items") if isinstance(read, dict) else None
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        raise BadInput.at("", _("This could not be read."))
    return _text(read, "who", 40), [_read(item) for item in items]


def _read(item: Mapping[str, Any], photo: bytes = b"") -> Sent:
    texts = {name: _text(item, name, most) for name, most in _TEXTS.items()}
    return Sent(
        **texts,
        at=_instant(_text(item, "at", 40)),
        due=_day(_text(item, "due", 10)),
        minutes=_number(item, "minutes"),
        photo=photo,
        batch_id=_number(item, "batch"),
        housing_id=_number(item, "housing") or None,
        birds=_number(item, "birds"),
    )


def _text(item: Mapping[str, Any], name: str, most: int) -> str:
    """Return a text as a database can hold it."""
    value = item.get(name)
    if not isinstance(value, str):
        return ""
    return value[:most].replace("\x00", "").encode("utf-8", "replace").decode()


def _number(item: Mapping[str, Any], name: str) -> int:
    value = item.get(name)
    return value if type(value) is int and 0 <= value < _MOST_NUMBER else 0


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _instant(text: str) -> datetime | None:
    """Return the instant a phone wrote, in UTC; None for none, which is now."""
    try:
        found = datetime.fromisoformat(text)
        return (found if found.tzinfo else found.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):
        return None
