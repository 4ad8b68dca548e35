"""Signatures by which a receiver knows who sent a message, and that it is not an old one sent again.

After the open Standard Webhooks specification 1.0 (standardwebhooks.com, 2023): HMAC-SHA256 over `ID.TIMESTAMP.BODY`.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from base64 import b64decode, b64encode

PREFIX = "whsec_"
SECRET_BYTES = 32  # the specification asks for 24 to 64


def new_secret() -> str:
    """Return a fresh secret, as receivers are given it."""
    return PREFIX + b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def headers(secret: str, *, message: str, at: int, body: bytes) -> dict[str, str]:
    """Return the headers that sign a body. at: seconds since 1970 (UTC)."""
    key = b64decode(secret.removeprefix(PREFIX))
    signed = b".".join([message.encode(), str(at).encode(), body])
    signature = b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
    return {
        "webhook-id": message,
        "webhook-timestamp": str(at),
        "webhook-signature": f"v1,{signature}",
    }
