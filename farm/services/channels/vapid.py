"""Saying who sends, to push services: RFC 8292, with one key pair for the whole server.

A browser ties its subscription to the public key, so the key must outlive restarts: another key, and everyone has to
subscribe again.
"""

from __future__ import annotations

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from datetime import datetime, timedelta
from email.utils import parseaddr
from functools import lru_cache
from urllib.parse import urlsplit

from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDSA,
    SECP256R1,
    EllipticCurvePrivateKey,
    derive_private_key,
)
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from django.conf import settings

from farm.services.channels.encryption import point

#: How long a token holds: no more than a day is allowed (RFC 8292 §2); half of it bears a clock that is wrong.
#: Project default (judgement).
HOLDS = timedelta(hours=12)


def encoded(data: bytes) -> str:
    """Return base64url without padding."""
    return urlsafe_b64encode(data).rstrip(b"=").decode("ascii")


def decoded(text: str) -> bytes:
    """Return what base64url, with or without padding, stands for. Raises ValueError."""
    if not text.isascii() or set(text) & set("+/"):
        raise ValueError("not base64url")
    return urlsafe_b64decode(text.rstrip("=") + "=" * (-len(text.rstrip("=")) % 4))


def key() -> EllipticCurvePrivateKey:
    """Return the server's key pair."""
    return _key(settings.PUSH_KEY)


@lru_cache(maxsize=2)
def _key(secret: str) -> EllipticCurvePrivateKey:
    return derive_private_key(int.from_bytes(decoded(secret), "big"), SECP256R1())


def public_key() -> str:
    """Return the public key, as a page hands it to the browser (`applicationServerKey`)."""
    return encoded(point(key().public_key()))


def authorization(endpoint: str, now: datetime) -> str:
    """Return the Authorization header for a message to `endpoint`."""
    parts = urlsplit(endpoint)
    claims = {
        "aud": f"{parts.scheme}://{parts.netloc}",
        "exp": int((now + HOLDS).timestamp()),
        "sub": contact(),
    }
    signed = f"{_part({'typ': 'JWT', 'alg': 'ES256'})}.{_part(claims)}"
    r, s = decode_dss_signature(key().sign(signed.encode("ascii"), ECDSA(SHA256())))
    token = f"{signed}.{encoded(r.to_bytes(32, 'big') + s.to_bytes(32, 'big'))}"
    return f"vapid t={token}, k={public_key()}"


def contact() -> str:
    """Return whom a push service may turn to: this site, or its sender of letters where it has no https address."""
    if settings.ADDRESS.startswith("https://"):
        return str(settings.ADDRESS)
    return f"mailto:{parseaddr(settings.DEFAULT_FROM_EMAIL)[1]}"


def _part(data: dict[str, object]) -> str:
    return encoded(json.dumps(data, separators=(",", ":")).encode())
