"""To a browser that asked for it (Web Push, RFC 8030), encrypted so that nobody on the way can read it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from urllib.parse import urlsplit

from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePublicKey
from django.conf import settings
from django.utils.translation import gettext as _

from farm.services.channels import fetching, vapid
from farm.services.channels.encryption import (
    AUTH_BYTES,
    MOST_TEXT_BYTES,
    POINT_BYTES,
    for_browser,
)
from farm.services.channels.message import ChannelRefused, Message, NotSent, refused

#: A telephone that is off for longer misses the message, seconds: chores of yesterday are no news.
#: Project default (judgement).
TTL_S = 24 * 3600
#: Of an answer, and of a subscription. Project default (judgement).
_MOST_ANSWER, _MOST_ADDRESS = 16_000, 4_000
#: Of a title and a link, characters: far more than any of ours. Project default (judgement).
_MOST_TITLE, _MOST_URL = 200, 1_000
_TAKEN, _GONE = frozenset({200, 201, 202}), frozenset({404, 410})
#: The message, or who sends it, is refused: the same again would be too.
_REFUSED = frozenset({400, 401, 403, 405, 413})
#: Longer than this nobody is left alone, seconds. Project default (judgement).
_LONGEST_WAIT_S = 7 * 24 * 3600


@dataclass(frozen=True, slots=True)
class Subscription:
    """What a browser hands out: where to send, and with what to encrypt."""

    endpoint: str
    browser: bytes
    auth: bytes


def check(address: str) -> str:
    """Return the host of a subscription's push service. Raises ChannelRefused for what no browser made."""
    return urlsplit(_read(address).endpoint).hostname or ""


def public_key() -> str:
    """Return the key a page subscribes with, base64url."""
    return vapid.public_key()


def send(address: str, message: Message, timeout: float) -> None:
    """Send to the subscription in `address` (JSON, as the browser gives it) within `timeout` seconds. Raises NotSent.

    A newer message of the same key replaces one that has not been fetched yet.
    """
    try:
        subscription = _read(address)
    except ChannelRefused as error:
        raise NotSent(str(error), lasting=True) from error
    body = for_browser(payload(message), browser=subscription.browser, auth=subscription.auth)
    request = fetching.Request(subscription.endpoint, "POST", _headers(subscription.endpoint, message), body)
    limits = fetching.Limits(seconds=timeout, most_bytes=_MOST_ANSWER, private=settings.PRIVATE_PUSH)
    try:
        answer = fetching.fetch(request, limits=limits)
    except fetching.Unfetched as error:
        lasting = error.why in ("address", "private")
        text = _("The push service could not be reached: %(why)s") % {"why": _(fetching.WHY[error.why])}
        raise NotSent(text, lasting=lasting) from error
    _judge(answer)


def payload(message: Message) -> bytes:
    """Return what the browser shows, JSON; a body that is too long for a push message ends in an ellipsis."""
    url = message.url if len(message.url) <= _MOST_URL else ""
    said = {"title": message.headline()[:_MOST_TITLE], "body": "", "url": url, "tag": _topic(message.key)}
    said["body"] = _fitting(message.body, MOST_TEXT_BYTES - len(_written(said)))
    return _written(said)


def _fitting(body: str, room: int) -> str:
    """Return as much of `body` as takes `room` bytes, written as JSON."""
    if len(_written(body)) - 2 <= room:
        return body
    rest = room - len("…".encode())
    for number, one in enumerate(body):
        rest -= len(_written(one)) - 2
        if rest < 0:
            return body[:number] + "…"
    return body


def _written(said: object) -> bytes:
    return json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode(errors="replace")


def _topic(key: str) -> str:
    """Return a key as RFC 8030 §5.4 has a topic: 32 characters of base64url at most."""
    return vapid.encoded(hashlib.sha256(key.encode()).digest())[:32]


def _headers(endpoint: str, message: Message) -> Mapping[str, str]:
    return {
        "TTL": str(TTL_S),
        "Urgency": "normal",
        "Topic": _topic(message.key),
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
        # A token says until when it holds in real time, whatever day the caller is asking for.
        "Authorization": vapid.authorization(endpoint, datetime.now(UTC)),  # noqa: TID251
    }


def _judge(answer: fetching.Answer) -> None:
    if answer.status in _TAKEN:
        return
    if answer.status in _GONE:
        raise NotSent(_("This browser no longer takes messages. Switch them on in it again."), lasting=True)
    if answer.status in _REFUSED:
        text = _(
            "The push service refused the message (%(status)d). Switch messages off and on in that browser."
        )
        raise NotSent(text % {"status": answer.status}, lasting=True)
    said = (answer.headers.get("Retry-After") or "").strip()
    wait = min(int(said), _LONGEST_WAIT_S) if said.isascii() and said.isdigit() else None
    text = _("The push service could not take the message just now (%(status)d).") % {"status": answer.status}
    raise NotSent(text, lasting=False, wait_s=wait)


def _read(address: str) -> Subscription:
    """Return the subscription of its JSON. Raises ChannelRefused."""
    try:
        if len(address) > _MOST_ADDRESS:
            raise ValueError("too long")
        found = json.loads(address)
        browser, auth = vapid.decoded(found["keys"]["p256dh"]), vapid.decoded(found["keys"]["auth"])
        EllipticCurvePublicKey.from_encoded_point(SECP256R1(), browser)
        fits = len(browser) == POINT_BYTES and len(auth) == AUTH_BYTES
        endpoint = found["endpoint"]
        if not (fits and isinstance(endpoint, str)):
            raise ValueError("not the keys of a browser")
        fetching.parts_of(endpoint)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, fetching.Unfetched) as error:
        text = _("This browser's subscription can't be used. Switch messages off and on in it.")
        raise refused(text) from error
    return Subscription(endpoint, browser, auth)
